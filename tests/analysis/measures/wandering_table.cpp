// Prints the tables of placement, lines and portions of analysis/measures/README.md:
//   wandering_table [RUNS] [SEED] [SCENARIO [MOST_DROPS]]
// A cell: intervals that held the truth, in per cent; in brackets the share of runs that had one,
// where not all; for independent errors the width beside the classical interval's.
#include "analysis/base/text.hpp"
#include "tests/analysis/measures/lines_and_portions.hpp"

#include <fmt/format.h>

#include <array>
#include <cstdio>
#include <string>
#include <vector>

using namespace dropledger::measures::coverage;

namespace {

constexpr std::array<std::int64_t, 5> sizes{50, 100, 250, 500, 1000};

std::string cell(const Held& held, bool with_width) {
    if (2 * held.defined < held.runs / 10)
        return " none |";
    const double share = 100.0 * held.held / held.defined;
    std::string text = fmt::format(" {:.1f}", share);
    if (held.defined < held.runs)
        text += fmt::format(" ({:.0f})", 100.0 * held.defined / held.runs);
    if (with_width)
        text += fmt::format(" ×{:.2f}", held.width / held.defined);
    return text + " |";
}

struct Asked {
    int runs = 1000;
    std::uint64_t seed = 1;
    std::string scenario; // empty: all
    std::int64_t most_drops = sizes.back();
};

// `with_width`: beside the classical interval's, where there is one to compare with.
template <class Scenario>
void print_scenario(const Scenario& scenario, const Asked& asked, bool with_width) {
    if (!asked.scenario.empty() && asked.scenario != scenario.name)
        return;
    std::map<std::string, std::string> rows;
    for (const std::int64_t drops : sizes)
        if (drops <= asked.most_drops)
            for (const auto& [name, held] :
                 study(scenario, {.drops = drops, .runs = asked.runs, .seed = asked.seed}))
                rows[name] += cell(held, with_width);
    for (const auto& [name, cells] : rows)
        fmt::print("| {} | {} |{}\n", scenario.name, name, cells);
    std::fflush(stdout);
}

} // namespace

int main(int argc, char** argv) {
    const std::vector<std::string> arguments(argv + 1, argv + argc);
    const auto number = [&](std::size_t i, std::int64_t otherwise) {
        return i < arguments.size() ? dropledger::parse_int(arguments[i]).value_or(otherwise)
                                    : otherwise;
    };
    Asked asked;
    asked.runs = static_cast<int>(number(0, asked.runs));
    asked.seed = static_cast<std::uint64_t>(number(1, 1));
    asked.scenario = arguments.size() > 2 ? arguments[2] : "";
    asked.most_drops = number(3, asked.most_drops);
    fmt::print("| errors | quantity | 50 | 100 | 250 | 500 | 1000 |\n| --- | --- | --- | --- | --- "
               "| --- | --- |\n");
    for (const Errors& errors : error_scenarios())
        print_scenario(errors, asked, errors.memory == 0.0);
    for (const CountScenario& counts : count_scenarios())
        print_scenario(counts, asked, false);
}
