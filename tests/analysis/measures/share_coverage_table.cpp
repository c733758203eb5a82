// Prints the tables of shares of analysis/measures/README.md:
//   share_coverage_table [RUNS] [SEED] [SHARE IN PER CENT …]
#include "analysis/base/text.hpp"
#include "tests/analysis/measures/share_coverage.hpp"

#include <fmt/format.h>

#include <array>
#include <string>
#include <vector>

using namespace dropledger::measures::coverage;

namespace {

constexpr std::array<std::int64_t, 5> sizes{50, 100, 250, 500, 1000};

std::string percent(int part, int of) {
    return of > 0 ? fmt::format("{:.1f}", 100.0 * part / of) : "-";
}

// Covered in all runs with an interval; of them, where the rows show; width over the classical one.
void print_scenario(const ShareScenario& scenario, int runs, std::uint64_t seed) {
    std::map<std::string, std::string> rows;
    std::string hidden;
    for (const std::int64_t drops : sizes) {
        int unseen = 0;
        for (const auto& [name, c] :
             share_study(scenario, {.drops = drops, .runs = runs, .seed = seed})) {
            rows[name] += fmt::format(" {} / {} / {} |", percent(c.held, c.defined),
                                      percent(c.held_shown, c.defined_shown),
                                      c.classical > 0.0 ? fmt::format("{:.2f}", c.ratio()) : "-");
            unseen = c.hidden;
        }
        hidden += fmt::format(" {:.0f} % |", 100.0 * unseen / runs);
    }
    const std::string kind =
        fmt::format("{} {:g} %, {}", scenario.of_multiples ? "multiples" : "misses",
                    100.0 * scenario.share, scenario.name());
    fmt::print("| {} | runs that show no row |{}\n", kind, hidden);
    for (const auto& [name, cells] : rows)
        fmt::print("| {} | {} |{}\n", kind, name, cells);
}

void print_usefulness(int runs, std::uint64_t seed) {
    fmt::print("\n| unit | drops | within % | outside % |\n| --- | --- | --- | --- |\n");
    for (const auto& [what, unit] :
         {std::pair{"misses 1 %, multiples 1 %", UnitShares{0.01, 0.01}},
          std::pair{"misses 10 %, multiples 1 %", UnitShares{0.1, 0.01}},
          std::pair{"misses 5 %, multiples 1 %", UnitShares{0.05, 0.01}}})
        for (const std::int64_t drops : {250, 500}) {
            const Usefulness seen = usefulness(unit, {.drops = drops, .runs = runs, .seed = seed});
            fmt::print("| {} | {} | {:.1f} | {:.1f} |\n", what, drops, 100.0 * seen.within,
                       100.0 * seen.outside);
        }
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
    std::vector<double> shares;
    for (std::size_t i = 2; i < arguments.size(); ++i)
        shares.push_back(dropledger::parse_double(arguments[i]).value_or(5.0) / 100.0);
    if (shares.empty())
        shares = {0.01, 0.02, 0.05, 0.1};
    fmt::print("| scenario | quantity | 50 | 100 | 250 | 500 | 1000 drops |\n"
               "| --- | --- | --- | --- | --- | --- | --- |\n");
    for (const bool of_multiples : {false, true})
        for (const double share : shares)
            for (const ShareScenario& scenario : share_scenarios(share, of_multiples))
                print_scenario(scenario, runs, seed);
    print_usefulness(runs, seed);
}
