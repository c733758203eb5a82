#include "tests/analysis/measures/lines_and_portions.hpp"

#include "analysis/measures/entries.hpp"
#include "analysis/measures/line.hpp"
#include "analysis/statistics/basics/distributions.hpp"

#include <algorithm>
#include <cmath>
#include <random>

namespace dropledger::measures::coverage {

namespace {

constexpr std::int64_t segment_um = 100'000;
const Confidence ninety_five{0.95};
using Random = std::mt19937_64;
using Estimates = std::map<std::string, std::optional<statistics::Estimate>>;

double uniform(Random& random) {
    return static_cast<double>(random() >> 11U) * 0x1p-53;
}

std::vector<double> clustered_places(double length_mm, Random& random) {
    std::vector<double> places;
    for (double parent = -100.0; parent < length_mm + 100.0;
         parent += -50.0 * std::log(1.0 - uniform(random)))
        for (int child = std::poisson_distribution<int>{5.0}(random); child > 0; --child)
            places.push_back(parent + 60.0 * uniform(random));
    return places;
}

// Places in mm, 10 seeds a segment (thin: half a seed).
std::vector<double> places(LineKind kind, double length_mm, Random& random) {
    constexpr double even_mm = 10.0;
    if (kind == LineKind::clustered)
        return clustered_places(length_mm, random);
    std::normal_distribution<double> normal;
    std::vector<double> out;
    double place = 0.0;
    for (std::int64_t seed = 0; place < length_mm + 100.0; ++seed) {
        switch (kind) {
        case LineKind::regular:
            place = even_mm * static_cast<double>(seed) + 1.5 * normal(random);
            break;
        case LineKind::renewed:
            place += std::max(0.5, even_mm + 2.0 * normal(random));
            break;
        case LineKind::random:
            place += -even_mm * std::log(1.0 - uniform(random));
            break;
        case LineKind::thin:
            place += -20.0 * even_mm * std::log(1.0 - uniform(random));
            break;
        case LineKind::clustered:
            break;
        }
        out.push_back(place);
    }
    return out;
}

Estimates line_estimates(LineKind kind, std::int64_t segments, std::uint64_t seed) {
    Random random{seed};
    const double length_mm = 100.0 * static_cast<double>(segments + 1);
    std::vector<double> all = places(kind, length_mm, random);
    std::sort(all.begin(), all.end());
    LineTally line{segment_um};
    for (const double place : all)
        if (place <= length_mm + 1.0)
            line.add(std::llround(place * 1000.0), 1);
    const LineResult found = line.result(100'000, ninety_five);
    return {{"mean_per_m", found.mean_per_m},
            {"cv", found.cv},
            {"dispersion_index", found.dispersion_index}};
}

// The ensemble's truth, and not that of one phase: the mean of many lines.
Estimates line_truth(LineKind kind, const ErrorStudy& how) {
    constexpr int lines = 300;
    Estimates mean;
    for (int i = 0; i < lines; ++i)
        for (const auto& [name, estimate] :
             line_estimates(kind, how.drops_for_truth / lines,
                            how.seed * 77'003 + static_cast<std::uint64_t>(i))) {
            auto& all = mean[name];
            if (!all)
                all = statistics::Estimate{};
            const double value = name == "cv" ? estimate->value * estimate->value : estimate->value;
            all->value += value / lines;
        }
    mean["cv"]->value = std::sqrt(mean["cv"]->value);
    return mean;
}

// Nothing of a run whose empties come in rows and that shows no row: it rests on the assumption that
// there are none.
Estimates portion_estimates(const CountScenario& scenario, std::int64_t drops, std::uint64_t seed) {
    Random random{seed};
    EntryTally tally{ledger::Mode::portion};
    bool empty = uniform(random) < scenario.empty;
    bool shows_row = scenario.row <= 1.0;
    const double begins = scenario.empty / (1.0 - scenario.empty) / scenario.row;
    for (std::int64_t drop = 0; drop < drops; ++drop) {
        const bool empty_before = drop > 0 && empty;
        empty = scenario.row > 1.0 ? uniform(random) < (empty ? 1.0 - 1.0 / scenario.row : begins)
                                   : uniform(random) < scenario.empty;
        shows_row = shows_row || (empty && empty_before);
        ledger::Entry entry;
        entry.drop.target = 4;
        entry.seeds = 0;
        const double count = uniform(random); // 3, 4 or 5
        if (!empty)
            entry.seeds = count < 0.15 ? 3 : count < 0.9 ? 4 : 5;
        tally.add(entry);
    }
    if (!shows_row)
        return {{"mean_count", std::nullopt}};
    return {{"mean_count", tally.portion(ninety_five)->mean_count}};
}

Estimates estimates(const CountScenario& scenario, std::int64_t drops, std::uint64_t seed) {
    return scenario.line ? line_estimates(*scenario.line, drops, seed)
                         : portion_estimates(scenario, drops, seed);
}

} // namespace

const std::vector<CountScenario>& count_scenarios() {
    static const std::vector<CountScenario> all{
        {.name = "regular line", .line = LineKind::regular},
        {.name = "renewed line", .line = LineKind::renewed},
        {.name = "random line", .line = LineKind::random},
        {.name = "thin random line", .line = LineKind::thin},
        {.name = "line in clusters", .line = LineKind::clustered},
        {.name = "portions, 2 % empty", .empty = 0.02},
        {.name = "portions, 5 % empty in rows of 2.5", .empty = 0.05, .row = 2.5},
        {.name = "portions, 5 % empty in rows of 5", .empty = 0.05, .row = 5.0},
        {.name = "portions, 5 % empty in rows of 10", .empty = 0.05, .row = 10.0}};
    return all;
}

std::map<std::string, Held> study(const CountScenario& scenario, const ErrorStudy& how) {
    const Estimates truth = scenario.line
                                ? line_truth(*scenario.line, how)
                                : estimates(scenario, how.drops_for_truth, how.seed ^ 0x74ULL);
    std::map<std::string, Held> result;
    for (int run = 0; run < how.runs; ++run)
        for (const auto& [name, estimate] : estimates(
                 scenario, how.drops, how.seed * 1'000'003 + static_cast<std::uint64_t>(run))) {
            Held& held = result[name];
            ++held.runs;
            if (!estimate || !estimate->interval)
                continue;
            const double value = truth.at(name)->value;
            ++held.defined;
            held.held += estimate->interval->low <= value && value <= estimate->interval->high;
            held.width += estimate->interval->high - estimate->interval->low;
        }
    return result;
}

} // namespace dropledger::measures::coverage
