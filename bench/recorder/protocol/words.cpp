#include "bench/recorder/protocol/words.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <span>

namespace dropledger::recorder {

namespace {

struct Word {
    std::string_view code;
    std::string_view text;
};

constexpr std::array<Word, 7> faults{{
    {"estop", "emergency stop pressed; clear the danger, release the button, then start a new run"},
    {"guard", "guard open; close it, then start a new run"},
    {"motor_stall",
     "the motor is stalled; switch off, then look for a jammed disc or a foreign body"},
    {"gate_blocked",
     "a gate's beam stays interrupted; clean emitter and receiver, look for a stuck seed"},
    {"valve_stuck", "the valve does not move; switch off, then look for seed or dirt in its seat"},
    {"low_voltage", "supply voltage too low; check the battery or power supply and the plugs"},
    {"host_silent",
     "the controller heard nothing from this computer for 2 s and halted; check the cable"},
}};

constexpr std::array<Word, 6> halts{{
    {"host", "halted as asked"},
    {"count", "halted: the wanted number of drops is done"},
    {"estop", "halted: emergency stop; clear the danger, release the button, then start a new run"},
    {"guard", "halted: guard open; close it, then start a new run"},
    {"host_silent",
     "halted: the controller heard nothing from this computer for 2 s; check the cable"},
    {"fault", "halted because of a fault; see the line before"},
}};

constexpr std::array<Word, 15> refusals{{
    {"crc", "an order arrived damaged; check cable and baud rate"},
    {"length", "an order arrived damaged (too long); check cable and baud rate"},
    {"syntax", "the controller cannot read the order; its firmware may not fit this program"},
    {"unknown", "the controller does not know the order; its firmware may be too old"},
    {"seq", "the controller never sent the line that was asked for"},
    {"gone", "the controller no longer has the line that was asked for"},
    {"state", "the controller is not ready for it: a run may still be on; wait for its halt"},
    {"estop", "the emergency stop is pressed; clear the danger and release the button"},
    {"guard", "the guard is open; close it"},
    {"mode", "the controller cannot sow in this mode; choose another `mode`"},
    {"spacing",
     "the spacing is out of the controller's range; change `spacing_mm` or `rate_per_m`"},
    {"count", "the count is out of the controller's range; change `count`"},
    {"speed", "the speed is out of the controller's range; change `speed_mps`"},
    {"channels", "the controller lacks a channel that was asked for; change `channels`"},
    {"drops", "the number of drops is out of the controller's range; change `drops`"},
}};

std::string look_up(std::span<const Word> words, std::string_view code, std::string_view unknown) {
    const auto found = std::find_if(words.begin(), words.end(),
                                    [&](const Word& word) { return word.code == code; });
    if (found == words.end())
        return fmt::format("{} `{}`; see the manual of the controller", unknown, code);
    return std::string{found->text};
}

} // namespace

std::string fault_in_words(std::string_view code) {
    return look_up(faults, code, "fault");
}

std::string halt_in_words(std::string_view reason) {
    return look_up(halts, reason, "halted, reason");
}

bool is_wire_trouble(std::string_view code) {
    constexpr std::array<std::string_view, 6> of_the_wire{"crc",     "length", "syntax",
                                                          "unknown", "seq",    "gone"};
    return std::find(of_the_wire.begin(), of_the_wire.end(), code) != of_the_wire.end();
}

std::string refusal_in_words(std::string_view code) {
    return look_up(refusals, code, "code");
}

} // namespace dropledger::recorder
