// Prints the coverage table of analysis/verdict/README.md: stop_coverage_table [RUNS] [SEED].
#include "analysis/base/text.hpp"
#include "tests/analysis/verdict/stop_coverage.hpp"

#include <fmt/format.h>

#include <string>
#include <vector>

using namespace dropledger::verdict::coverage;

namespace {

void print_row(const Situation& situation, int runs, std::uint64_t seed) {
    const Covered covered = stop_coverage(situation, runs, seed);
    fmt::print("| {} | {:.1f} | {:.1f} | {:.0f} | {:.0f} | {:.1f} | {:.1f} | {:.1f} |\n",
               situation.channels, 100.0 * situation.miss, 100.0 * situation.multiples,
               covered.mean_drops, 100.0 * covered.own_end, 100.0 * covered.reported,
               100.0 * covered.after_stop, 100.0 * covered.plain);
}

} // namespace

int main(int argc, char** argv) {
    const std::vector<std::string> arguments(argv + 1, argv + argc);
    const auto number = [&](std::size_t i, std::int64_t otherwise) {
        return i < arguments.size() ? dropledger::parse_int(arguments[i]).value_or(otherwise)
                                    : otherwise;
    };
    const auto runs = static_cast<int>(number(0, 4000));
    const auto seed = static_cast<std::uint64_t>(number(1, 1));
    fmt::print("| channels | misses % | multiples % | mean drops | own end % | reported | ordered "
               "| plain |\n| --- | --- | --- | --- | --- | --- | --- | --- |\n");
    for (const int channels : {1, 6})
        for (const double multiples : {0.01, 0.033, 0.08})
            for (const double miss : {0.005, 0.02, 0.033, 0.05, 0.1})
                print_row({.miss = miss, .multiples = multiples, .channels = channels}, runs, seed);
}
