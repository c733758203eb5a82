// How often the intervals of lag, offset, efficiency and flight time hold the virtual bench's
// truth. Too slow for a test.
//   calibration_coverage_study [CALIBRATIONS [lead|efficiency|flight]]
#include "calibration/efficiency/efficiency.hpp"
#include "calibration/efficiency/gate_matching.hpp"
#include "calibration/flight/strip_flight.hpp"
#include "calibration/lead/lead.hpp"

#include "analysis/base/readers/open_string.hpp"
#include "bench/virtual/run_log.hpp"
#include "tests/bench/virtual/a_scenario.hpp"

#include <cmath>
#include <cstdlib>
#include <iostream>

using namespace dropledger;
using namespace dropledger::calibration;

namespace {

std::string log_of(const bench_virtual::Scenario& scenario) {
    std::string bytes;
    bench_virtual::LogSinks sinks;
    sinks.line = [&](std::string_view line) { bytes.append(line); };
    bench_virtual::simulate_log(scenario, sinks);
    return bytes;
}

bool holds(const statistics::Estimate& estimate, double truth) {
    return estimate.interval->low <= truth && truth <= estimate.interval->high;
}

struct Tally {
    int lag = 0;
    double lag_bias = 0.0;    // mean of (found − truth)/u: 0 is no bias
    double lag_squares = 0.0; // of the same: 1 is a u that is right
    double offset_bias = 0.0; // of the offset likewise
    double offset_squares = 0.0;
    int offset = 0;
    int flight = 0;
    int first = 0;
    int second = 0;
    int seeds = 0;
};

void study_lead(std::uint64_t number, Tally& tally) {
    bench_virtual::Scenario scenario = bench_virtual::single_scenario(); // 5 % doubles
    const auto times = bench_virtual::unit_times(scenario.channels.front(), scenario.crop);
    scenario.drops = 80;
    scenario.channels.front().lead_us = std::llround(times.lead_us) - 5000;
    scenario.channels.front().offset_um = 4000;
    std::vector<LeadRun> runs;
    for (const std::int64_t speed_um_s : {200'000, 400'000, 600'000}) {
        scenario.seed = 1000 * number + static_cast<std::uint64_t>(runs.size());
        scenario.speed_um_s = speed_um_s;
        const auto run = lead_run(open_string(log_of(scenario)), "virtual", std::nullopt);
        if (!run)
            throw BrokenInvariant(run.error().message());
        runs.push_back(*run);
    }
    const auto found = lead(runs, {});
    // the truth is what the rounded lead leaves over
    const double lag = times.lead_us - static_cast<double>(*scenario.channels.front().lead_us);
    tally.lag += holds(found->lag_us, lag) ? 1 : 0;
    const double standardised = (found->lag_us.value - lag) / found->lag_u_us;
    tally.lag_bias += standardised;
    tally.lag_squares += standardised * standardised;
    const double off = (found->offset_mm.value - 4.0) / found->offset_u_mm;
    tally.offset_bias += off;
    tally.offset_squares += off * off;
    tally.offset += holds(found->offset_mm, 4.0) ? 1 : 0;
}

void study_efficiency(std::uint64_t number, Tally& tally) {
    using namespace bench_virtual;
    Scenario scenario = scenario_of(with(single_toml, "doubles = 0.05", "doubles = 0.0"));
    scenario.drops = 300;
    scenario.seed = 77'000 + number;
    std::string bytes;
    std::int64_t seeds = 0;
    LogSinks sinks;
    sinks.line = [&](std::string_view line) { bytes.append(line); };
    sinks.truth = [&](const RunTruth& truth) { seeds += truth.truth.seeds; };
    simulate_log(scenario, sinks);
    const auto pulses = pulses_of(open_string(bytes), "virtual", std::nullopt);
    const auto matching = match(*pulses);
    const auto found = two_gates(matching->seen, Confidence{0.95});
    tally.first += holds(*found->first_efficiency, 0.97) ? 1 : 0;
    tally.second += holds(*found->second_efficiency, 0.95) ? 1 : 0;
    tally.seeds += holds(found->seeds, static_cast<double>(seeds)) ? 1 : 0;
}

// Two strips of 40 seeds at two speeds, the rule's zero unknown, read to half a millimetre.
void study_flight(std::uint64_t number, Tally& tally) {
    using namespace bench_virtual;
    Scenario scenario = single_scenario();
    scenario.drops = 40;
    std::vector<Strip> strips;
    for (const std::int64_t speed_um_s : {200'000, 500'000}) {
        scenario.seed = 555'000 + 2 * number + strips.size();
        scenario.speed_um_s = speed_um_s;
        std::string bytes;
        std::vector<RuleReading> readings;
        LogSinks sinks;
        sinks.line = [&](std::string_view line) { bytes.append(line); };
        sinks.truth = [&](const RunTruth& run) {
            for (const std::int64_t landing_um : run.truth.landings_um)
                if (run.truth.kind == TruthKind::drop)
                    readings.push_back(
                        {run.truth.index,
                         std::round(static_cast<double>(landing_um) / 500.0) / 2.0 - 700.0});
        };
        simulate_log(scenario, sinks);
        const auto strip = match_strip(open_string(bytes),
                                       {.file = "virtual", .channel = {}, .gate = 1}, readings);
        if (!strip)
            throw BrokenInvariant(strip.error().message());
        strips.push_back(*strip);
    }
    const auto found = flight(strips, {}, Confidence{0.95});
    const auto times = unit_times(scenario.channels.front(), scenario.crop);
    tally.flight += holds(found->result.flight_us, times.gates[1].to_ground_us) ? 1 : 0;
}

} // namespace

int main(int argc, char** argv) {
    const int calibrations = argc > 1 ? std::atoi(argv[1]) : 200;
    const std::string only = argc > 2 ? argv[2] : "";
    Tally tally;
    for (int i = 0; i < calibrations; ++i) {
        const auto number = static_cast<std::uint64_t>(i);
        if (only.empty() || only == "lead")
            study_lead(number, tally);
        if (only.empty() || only == "efficiency")
            study_efficiency(number, tally);
        if (only.empty() || only == "flight")
            study_flight(number, tally);
    }
    std::cout << calibrations << " calibrations; held the truth: lag " << tally.lag << ", offset "
              << tally.offset << ", efficiency over the valve " << tally.first << ", under it "
              << tally.second << ", seeds " << tally.seeds << ", flight time " << tally.flight
              << "\n(found - truth)/u, mean and mean square: lag " << tally.lag_bias / calibrations
              << ' ' << tally.lag_squares / calibrations << ", offset "
              << tally.offset_bias / calibrations << ' ' << tally.offset_squares / calibrations
              << '\n';
}
