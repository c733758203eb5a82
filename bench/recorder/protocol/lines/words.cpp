#include "bench/recorder/protocol/lines/words.hpp"

#include "analysis/base/result.hpp"
#include "analysis/droplog/reasons.hpp"

#include <fmt/format.h>

namespace dropledger::recorder {

namespace {

using droplog::FaultCode;
using droplog::HaltReason;
using droplog::RefusedCode;

std::string_view text_of(FaultCode code) {
    switch (code) {
    case FaultCode::estop:
        return "emergency stop pressed; clear the danger, release the button, then start a new run";
    case FaultCode::guard:
        return "guard open; close it, then start a new run";
    case FaultCode::motor_stall:
        return "the motor is stalled; switch off, then look for a jammed disc or a foreign body";
    case FaultCode::gate_blocked:
        return "a gate's beam stays interrupted; clean emitter and receiver, look for a stuck seed";
    case FaultCode::valve_stuck:
        return "the valve does not move; switch off, then look for seed or dirt in its seat";
    case FaultCode::low_voltage:
        return "supply voltage too low; check the battery or power supply and the plugs";
    case FaultCode::host_silent:
        return "the controller heard nothing from this computer for 2 s and halted; check the "
               "cable";
    }
    throw BrokenInvariant("a code without words");
}

std::string_view text_of(HaltReason reason) {
    switch (reason) {
    case HaltReason::host:
        return "halted as asked";
    case HaltReason::count:
        return "halted: the wanted number of drops is done";
    case HaltReason::estop:
        return "halted: emergency stop; clear the danger, release the button, then start a new run";
    case HaltReason::guard:
        return "halted: guard open; close it, then start a new run";
    case HaltReason::host_silent:
        return "halted: the controller heard nothing from this computer for 2 s; check the cable";
    case HaltReason::fault:
        return "halted because of a fault; see the line before";
    }
    throw BrokenInvariant("a halt reason without words");
}

std::string_view text_of(RefusedCode code) {
    switch (code) {
    case RefusedCode::crc:
        return "an order arrived damaged; check cable and baud rate";
    case RefusedCode::length:
        return "an order arrived damaged (too long); check cable and baud rate";
    case RefusedCode::syntax:
        return "the controller cannot read the order; its firmware may not fit this program";
    case RefusedCode::unknown:
        return "the controller does not know the order; its firmware may be too old";
    case RefusedCode::seq:
        return "the controller never sent the line that was asked for";
    case RefusedCode::gone:
        return "the controller no longer has the line that was asked for";
    case RefusedCode::state:
        return "the controller is not ready for it: a run may still be on; wait for its halt";
    case RefusedCode::estop:
        return "the emergency stop is pressed; clear the danger and release the button";
    case RefusedCode::guard:
        return "the guard is open; close it";
    case RefusedCode::mode:
        return "the controller cannot sow in this mode; choose another `mode`";
    case RefusedCode::spacing:
        return "the spacing is out of the controller's range; change `spacing_mm` or `rate_per_m`";
    case RefusedCode::count:
        return "the count is out of the controller's range; change `count`";
    case RefusedCode::speed:
        return "the speed is out of the controller's range; change `speed_mps`";
    case RefusedCode::channels:
        return "the controller lacks a channel that was asked for; change `channels`";
    case RefusedCode::drops:
        return "the number of drops is out of the controller's range; change `drops`";
    }
    throw BrokenInvariant("a code without words");
}

// A controller may have words of its own.
std::string new_word(std::string_view what, std::string_view word) {
    return fmt::format("{} `{}`; see the manual of the controller", what, word);
}

} // namespace

std::string fault_in_words(std::string_view code) {
    const auto known = droplog::fault_code_of(code);
    return known ? std::string{text_of(*known)} : new_word("fault", code);
}

std::string halt_in_words(std::string_view reason) {
    const auto known = droplog::halt_reason_of(reason);
    return known ? std::string{text_of(*known)} : new_word("halted, reason", reason);
}

bool is_wire_trouble(std::string_view code) {
    const auto known = droplog::refused_code_of(code);
    return known == RefusedCode::crc || known == RefusedCode::length ||
           known == RefusedCode::syntax || known == RefusedCode::unknown ||
           known == RefusedCode::seq || known == RefusedCode::gone;
}

std::string refusal_in_words(std::string_view code) {
    const auto known = droplog::refused_code_of(code);
    return known ? std::string{text_of(*known)} : new_word("code", code);
}

} // namespace dropledger::recorder
