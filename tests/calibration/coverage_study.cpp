// How often the intervals of lag, offset and efficiency hold the virtual bench's truth. Too slow for a test.
#include "calibration/efficiency.hpp"
#include "calibration/gate_matching.hpp"
#include "calibration/lead.hpp"

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
    int offset = 0;
    int first = 0;
    int second = 0;
    int seeds = 0;
};

void study_lead(std::uint64_t number, Tally& tally) {
    bench_virtual::Scenario scenario = bench_virtual::single_scenario();
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

} // namespace

int main(int argc, char** argv) {
    const int calibrations = argc > 1 ? std::atoi(argv[1]) : 200;
    Tally tally;
    for (int i = 0; i < calibrations; ++i) {
        study_lead(static_cast<std::uint64_t>(i), tally);
        study_efficiency(static_cast<std::uint64_t>(i), tally);
    }
    std::cout << calibrations << " calibrations; held the truth: lag " << tally.lag << ", offset " << tally.offset
              << ", efficiency over the valve " << tally.first << ", under it " << tally.second << ", seeds "
              << tally.seeds << "; lag: mean of (found - truth)/u " << tally.lag_bias / calibrations << ", mean square "
              << tally.lag_squares / calibrations << '\n';
}
