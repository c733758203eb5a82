#include "bench/recorder/words.hpp"

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

constexpr std::array<Word, 9> refusals{{
    {"damaged", "the order arrived damaged; check cable and baud rate"},
    {"unknown", "the controller does not know the order; its firmware may be too old"},
    {"estop", "the emergency stop is pressed; clear the danger and release it"},
    {"guard", "the guard is open; close it"},
    {"state", "the controller is not ready for it (a run may still be on); wait for it to halt"},
    {"mode", "the controller cannot sow in this mode; choose another --mode"},
    {"range",
     "a number is out of the controller's range; check spacing, speed, count and channels"},
    {"fault", "a fault stands; clear it"},
    {"low_voltage", "supply voltage too low; check the battery or power supply"},
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

std::string refusal_in_words(std::string_view code) {
    return look_up(refusals, code, "code");
}

} // namespace dropledger::recorder
