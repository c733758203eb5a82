// How fast the pieces of an audit are, per line and per drop, on a log made in memory.
#include "analysis/audit/audit.hpp"
#include "analysis/base/readers/open_string.hpp"
#include "analysis/droplog/crc.hpp"
#include "analysis/droplog/line.hpp"
#include "analysis/droplog/reader.hpp"
#include "bench/virtual/run_log.hpp"

#include <benchmark/benchmark.h>

#include <string>

namespace {

using namespace dropledger;

constexpr const char* pulse = "pulse,12345678,4012345678,0,1,4021,432*0000";

std::string make_log(std::int64_t drops) {
    auto scenario = bench_virtual::read_scenario(DROPLEDGER_SOURCE "/fixtures/scenarios/fast.toml");
    scenario->drops = drops;
    std::string log;
    bench_virtual::simulate_log(
        *scenario, {.line = [&](std::string_view line) { log += line; }, .truth = {}, .pulse = {}});
    return log;
}

const std::string& log_of_10000_drops() {
    static const std::string log = make_log(10'000);
    return log;
}

void crc_of_a_line(benchmark::State& state) {
    const std::string_view line{pulse};
    for (auto _ : state)
        benchmark::DoNotOptimize(droplog::crc16(line));
}

void decode_a_line(benchmark::State& state) {
    const std::string line = droplog::pulse_line({12345678, 4012345678U}, {0, 1, 4021, 432});
    for (auto _ : state)
        benchmark::DoNotOptimize(droplog::decode(line));
}

void check_10000_drops(benchmark::State& state) {
    for (auto _ : state) {
        StringSource source{log_of_10000_drops()};
        benchmark::DoNotOptimize(droplog::check_log(source, "benchmark"));
    }
    state.SetItemsProcessed(state.iterations() * 10'000);
}

void audit_10000_drops(benchmark::State& state) {
    const OpenBytes open = open_string(log_of_10000_drops());
    audit::AuditOptions options;
    options.file = "benchmark";
    for (auto _ : state)
        benchmark::DoNotOptimize(audit::audit_log(open, options));
    state.SetItemsProcessed(state.iterations() * 10'000);
}

BENCHMARK(crc_of_a_line);
BENCHMARK(decode_a_line);
BENCHMARK(check_10000_drops);
BENCHMARK(audit_10000_drops);

} // namespace

BENCHMARK_MAIN();
