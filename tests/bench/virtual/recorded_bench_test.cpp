#include "a_scenario.hpp"
#include "served_bench.hpp"

#include "analysis/droplog/line.hpp"
#include "bench/recorder/recorder.hpp"

#include <gtest/gtest.h>

#include <filesystem>
#include <fstream>

#include <unistd.h>

namespace dropledger::bench_virtual {
namespace {

namespace fs = std::filesystem;

recorder::RunPlan plan_for(const Scenario& scenario) {
    const Order order = default_order(scenario);
    recorder::RunPlan plan;
    plan.run_id = "00000000-0000-4000-a000-000000000001";
    for (const Setting& setting : suggested_settings(scenario)) {
        if (setting.channel < 0)
            plan.settings.push_back({setting.key, setting.value});
        else
            plan.channel_settings.push_back(
                {static_cast<int>(setting.channel), setting.key, setting.value});
    }
    plan.order = {.mode = order.mode,
                  .spacing_um = order.spacing_um,
                  .count = order.count,
                  .speed_um_s = order.speed_um_s,
                  .channel_mask = order.channel_mask,
                  .drops = order.drops};
    return plan;
}

struct Row {
    const char* name;
    double pace;
    NoiseRates noise;
    std::vector<double> pulls;
};

class RecordedBench : public testing::TestWithParam<Row> {};

// The real driver against the virtual bench: what the log says is what the truth says.
TEST_P(RecordedBench, LogAndTruthAgree) {
    const fs::path folder = fs::temp_directory_path();
    const std::string mine = std::string(GetParam().name) + std::to_string(::getpid());
    const fs::path log = folder / ("recorded-" + mine + ".droplog");
    Scenario scenario = single_scenario();
    scenario.drops = 30;
    BenchOptions options;
    options.pace = GetParam().pace;
    options.link = (folder / ("recorded-" + mine + ".port")).string();
    options.faults.noise = GetParam().noise;
    options.faults.pull_at_s = GetParam().pulls;
    options.faults.pull_ms = 150;
    Served served(scenario, options);
    recorder::SystemClock clock;
    const auto open = [&options] {
        return link::open_transport(*options.link, link::default_baud);
    };
    recorder::RunPlan plan = plan_for(scenario);
    plan.start = recorder::StartPrompt(clock).told_beforehand();
    const auto run = recorder::record(std::move(plan), log.string(), {open, clock}, {});
    served.finish();
    ASSERT_TRUE(run) << run.error().message();
    EXPECT_EQ(run->end_reason, "count");
    std::int64_t drops = 0;
    std::int64_t pulses = 0;
    std::ifstream file(log);
    for (std::string line; std::getline(file, line);) {
        const auto name = droplog::decode(line).name;
        EXPECT_NE(name, droplog::LineName::damaged) << line;
        drops += name == droplog::LineName::drop ? 1 : 0;
        pulses += name == droplog::LineName::pulse ? 1 : 0;
    }
    std::int64_t seen = 0;
    for (const RunTruth& truth : served.truths)
        seen += truth.truth.seen[0] + truth.truth.seen[1];
    EXPECT_EQ(drops, 30);
    EXPECT_EQ(pulses, seen);
    fs::remove(log);
}

INSTANTIATE_TEST_SUITE_P(Lines, RecordedBench,
                         testing::Values(Row{"AsFastAsAcknowledged", 0.0, {}, {}},
                                         Row{"TwentyTimesRealTime", 20.0, {}, {}},
                                         Row{"NoisyLine", 20.0, {.flip = 0.002, .drop = 0.002}, {}},
                                         Row{"PulledCable", 20.0, {}, {8.0}}),
                         [](const auto& row) { return std::string(row.param.name); });

} // namespace
} // namespace dropledger::bench_virtual
