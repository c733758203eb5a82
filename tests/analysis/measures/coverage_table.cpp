// Prints the coverage table of analysis/measures/README.md: coverage_table [RUNS] [SEED].
#include "analysis/base/text.hpp"
#include "tests/analysis/measures/coverage.hpp"

#include <fmt/format.h>

#include <array>
#include <string>
#include <vector>

using namespace dropledger::measures::coverage;

namespace {

constexpr std::array<std::int64_t, 5> sizes{50, 125, 250, 500, 1000};

// Per cent of the intervals that held; in brackets of how many runs had one, where not all.
std::string cell(const Covered& covered) {
    if (covered.defined == 0)
        return " none |";
    const std::string held = fmt::format(" {:.1f}", 100.0 * covered.share());
    return covered.defined == covered.runs
               ? held + " |"
               : fmt::format("{} ({:.0f}) |", held, 100.0 * covered.defined / covered.runs);
}

void print_scenario(const Scenario& scenario, int runs, std::uint64_t seed) {
    std::map<std::string, std::string> rows;
    for (const std::int64_t drops : sizes)
        for (const auto& [name, covered] :
             study(scenario, {.drops = drops, .runs = runs, .seed = seed}))
            rows[name] += cell(covered);
    for (const auto& [name, cells] : rows)
        fmt::print("| {} | {} |{}\n", scenario.name, name, cells);
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
    fmt::print("| scenario | quantity | 50 | 125 | 250 | 500 | 1000 drops |\n"
               "| --- | --- | --- | --- | --- | --- | --- |\n");
    for (const Scenario& scenario : scenarios())
        print_scenario(scenario, runs, seed);
}
