// Prints the tables of analysis/verdict/README.md: stop_coverage_table [RUNS] [SEED].
#include "analysis/base/text.hpp"
#include "tests/analysis/verdict/stop_coverage.hpp"

#include <fmt/format.h>

#include <string>
#include <vector>

using namespace dropledger::verdict::coverage;

namespace {

void print_row(const Situation& situation, int runs, std::uint64_t seed) {
    const Covered c = stop_coverage(situation, runs, seed);
    fmt::print("| {:g} | {:g} | {:.1f} | {:.1f} | {:.0f} | {:.0f} | {:.1f} | {:.1f} |\n",
               100.0 * situation.share, situation.row_length, 100.0 * c.good, 100.0 * c.bad,
               c.mean_drops, 100.0 * c.stopped_early, 100.0 * c.held, 100.0 * c.agreed);
}

} // namespace

int main(int argc, char** argv) {
    const std::vector<std::string> arguments(argv + 1, argv + argc);
    const auto number = [&](std::size_t i, std::int64_t otherwise) {
        return i < arguments.size() ? dropledger::parse_int(arguments[i]).value_or(otherwise)
                                    : otherwise;
    };
    const auto runs = static_cast<int>(number(0, 1000));
    const auto seed = static_cast<std::uint64_t>(number(1, 1));
    fmt::print(
        "| share % | rows of | good % | bad % | mean drops | by 500 drops % | interval holds "
        "% | says the same % |\n| --- | --- | --- | --- | --- | --- | --- | --- |\n");
    for (const double share : {0.002, 0.01, 0.02, 0.05, 0.1})
        for (const double length : {1.0, 2.5, 5.0, 10.0})
            print_row({.share = share, .row_length = length}, runs, seed);
    fmt::print("\nWald's rule of older logs\n\n| share % | rows of | interval holds % |\n"
               "| --- | --- | --- |\n");
    for (const double share : {0.01, 0.02, 0.05, 0.1})
        for (const double length : {1.0, 2.5, 5.0, 10.0})
            fmt::print(
                "| {:g} | {:g} | {:.1f} |\n", 100.0 * share, length,
                100.0 * wald_coverage({.share = share, .row_length = length}, runs, seed).reported);
}
