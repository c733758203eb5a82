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
// Of the runs, that show rows: below it, a run that shows any is the exception.
constexpr double least_shown = 0.25;

std::string percent(int part, int of) {
    return of > 0 ? fmt::format("{:.1f}", 100.0 * part / of) : "-";
}

std::string kind_of(const ShareScenario& scenario) {
    return scenario.of_multiples ? "multiples" : "misses";
}

// Of one quantity at one size: the worst coverage of all scenarios, and its width on independent
// runs.
struct Worst {
    double least = 2.0;
    std::string where;
    std::string ratios; // share by share
};
using Summary = std::map<std::string, std::array<Worst, sizes.size()>>;

void take_up(const ShareScenario& scenario, const ShareCovered& covered, Worst& worst) {
    if (covered.defined_shown >= least_shown * covered.runs && covered.shown() < worst.least) {
        worst.least = covered.shown();
        worst.where = fmt::format("{:g} %, {}", 100.0 * scenario.share, scenario.name());
    }
    // Beside a classical interval that holds what it should.
    const bool fair = covered.classical_held >= 0.93 * covered.defined;
    if (scenario.pattern == Pattern::independent && covered.classical > 0.0)
        worst.ratios += fair ? fmt::format(" {:.2f}", covered.ratio())
                             : fmt::format(" ({:.2f})", covered.ratio());
}

// Covered in all runs with an interval / where the rows show / width over the classical one.
void print_scenario(const ShareScenario& scenario, const ShareStudy& how, Summary& summary) {
    std::map<std::string, std::string> rows;
    std::string hidden;
    for (std::size_t size = 0; size < sizes.size(); ++size) {
        ShareStudy study = how;
        study.drops = sizes[size];
        int unseen = 0;
        for (const auto& [name, c] : share_study(scenario, study)) {
            rows[name] += fmt::format(" {} / {} / {} |", percent(c.held, c.defined),
                                      percent(c.held_shown, c.defined_shown),
                                      c.classical > 0.0 ? fmt::format("{:.2f}", c.ratio()) : "-");
            take_up(scenario, c, summary[kind_of(scenario) + " | " + name][size]);
            unseen = c.hidden;
        }
        hidden += fmt::format(" {:.0f} % |", 100.0 * unseen / how.runs);
    }
    const std::string kind =
        fmt::format("{} {:g} %, {}", kind_of(scenario), 100.0 * scenario.share, scenario.name());
    fmt::print("| {} | runs that show no row |{}\n", kind, hidden);
    for (const auto& [name, cells] : rows)
        fmt::print("| {} | {} |{}\n", kind, name, cells);
}

void print_summary(const Summary& summary) {
    fmt::print("\n| of | quantity | 50 | 100 | 250 | 500 | 1000 drops |\n"
               "| --- | --- | --- | --- | --- | --- | --- |\n");
    for (const auto& [name, cells] : summary) {
        fmt::print("| {} |", name);
        for (const Worst& cell : cells)
            fmt::print(" {} ({});{} |",
                       cell.least > 1.0 ? "-" : fmt::format("{:.1f}", 100.0 * cell.least),
                       cell.where, cell.ratios);
        fmt::print("\n");
    }
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
    Summary summary;
    for (const bool of_multiples : {false, true})
        for (const double share : shares)
            for (const ShareScenario& scenario : share_scenarios(share, of_multiples))
                print_scenario(scenario, {.runs = runs, .seed = seed, .drops_for_truth = 300'000},
                               summary);
    print_summary(summary);
    print_usefulness(runs, seed);
}
