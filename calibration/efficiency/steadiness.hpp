// Do two gates overlook seeds as gates do that have an efficiency: alike all through a log, and
// alike whether a seed follows another closely or not?
//
// A gate that fades, or is unplugged half-way, has no one efficiency; and where one gate sees each
// seed twice (bounce, vibration), all that the other seems to overlook comes right behind a pulse.
// Assumes: pulses of one channel in time order. Units: µs.
// Undefined when: a gate saw nothing, or all that the other saw: nothing speaks against it.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

namespace dropledger::calibration {

// One gate's pulses, and which of them the other gate saw as well.
struct SeenByOther {
    std::vector<std::int64_t> times_us; // of each boot, one after the other
    std::vector<bool> seen;
};

struct GateInDoubt {
    int number = 0;
    std::int64_t seeds = 0; // that it saw
    std::int64_t drops =
        0; // that were commanded; 0: a line, where seeds may come close by themselves
};

// Of gate 1's pulses, where gate 0's seeds wait at a valve: those that came when no seed comes.
struct Untimely {
    std::int64_t pulses = 0;
    std::int64_t at_no_seed = 0;
};
// Dust and vibration strike at any time; gate 0 would be blamed for not seeing them.
[[nodiscard]] std::optional<std::string> doubt_of_timing(const Untimely& seen);

// What speaks against one efficiency of the gate, as a sentence, at 0.1 %.
[[nodiscard]] std::optional<std::string> doubt_about_efficiency(const SeenByOther& other,
                                                                const GateInDoubt& gate);

} // namespace dropledger::calibration
