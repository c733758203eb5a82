#include "bench/virtual/unit/times.hpp"

#include "bench/virtual/unit/flight.hpp"
#include "bench/virtual/unit/random.hpp"

namespace dropledger::bench_virtual {

namespace {

double microseconds(const Fall& fall) {
    return fall_seconds(fall) * 1e6;
}

UnitTimes::AtGate times_above(const GateSpec& gate, const UnitTimes& unit, double terminal_mps) {
    const Fall fall{
        .height_m = gate.height_mm / 1000.0, .exit_speed_mps = 0.0, .terminal_mps = terminal_mps};
    const double us = microseconds(fall);
    return {.from_start_us = us,
            .to_ground_us = unit.disc_to_valve_us - us + unit.valve_to_ground_us,
            .speed_mps = fall_end_speed_mps(fall)};
}

UnitTimes::AtGate times_below(const GateSpec& gate, const UnitTimes& unit, Fall from_valve) {
    from_valve.height_m -= gate.height_mm / 1000.0;
    const double us = microseconds(from_valve);
    return {.from_start_us = us,
            .to_ground_us = unit.valve_to_ground_us - us,
            .speed_mps = fall_end_speed_mps(from_valve)};
}

} // namespace

UnitTimes unit_times(const UnitSpec& unit, const CropSpec& crop) {
    UnitTimes times;
    const Fall from_valve{.height_m = unit.valve_height_mm / 1000.0,
                          .exit_speed_mps = unit.exit_speed_mps,
                          .terminal_mps = crop.terminal_mps};
    times.valve_to_ground_us = microseconds(from_valve);
    times.disc_to_valve_us = microseconds({.height_m = unit.tube_mm / 1000.0,
                                           .exit_speed_mps = 0.0,
                                           .terminal_mps = crop.terminal_mps});
    for (std::size_t g = 0; g < 2; ++g)
        if (const auto& gate = unit.gates.at(g))
            times.gates.at(g) = gate->above ? times_above(*gate, times, crop.terminal_mps)
                                            : times_below(*gate, times, from_valve);
    times.lead_us = unit.lead_us ? static_cast<double>(*unit.lead_us)
                                 : whole(unit.valve_lag_us + times.valve_to_ground_us);
    return times;
}

} // namespace dropledger::bench_virtual
