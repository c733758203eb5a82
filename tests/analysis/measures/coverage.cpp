#include "tests/analysis/measures/coverage.hpp"

#include "analysis/measures/channel_tally.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <optional>
#include <random>

namespace dropledger::measures::coverage {

namespace {

constexpr std::int64_t spacing_um = 180'000;
constexpr double offset_um = 3'000.0;
constexpr double scatter_um = 8'000.0;
constexpr std::int64_t allowance_um = 15'000;

class Unit {
public:
    Unit(const Scenario& scenario, std::uint64_t seed)
        : scenario_(&scenario), random_(seed),
          phase_(scenario.cells > 0 ? static_cast<std::int64_t>(uniform() * scenario.cells) : 0),
          in_burst_(uniform() < scenario.miss) {}

    std::uint32_t seeds_of(std::int64_t drop) {
        const int cell =
            scenario_->cells > 0 ? static_cast<int>((drop + phase_) % scenario_->cells) : -1;
        if (missed(cell))
            return 0;
        const double doubled =
            cell == scenario_->cells / 2 ? scenario_->bad_cell_double : scenario_->doubled;
        return uniform() < doubled ? 2 : 1;
    }

    std::int64_t error_um() {
        const double fresh = step();
        const double memory = scenario_->memory;
        apart_ = memory * apart_ + std::sqrt(1.0 - memory * memory) * fresh;
        return std::llround(offset_um + scatter_um * apart_);
    }

private:
    double step() {
        if (scenario_->steps == Steps::skewed)
            return -std::log(1.0 - uniform()) - 1.0;
        const double radius = std::sqrt(-2.0 * std::log(1.0 - uniform()));
        const double normal = radius * std::cos(2.0 * std::numbers::pi * uniform());
        if (scenario_->steps == Steps::normal)
            return normal;
        constexpr double scale = 1.3416407864998738; // sqrt(0.9 + 0.1 * 9), to variance 1
        return normal * (uniform() < 0.1 ? 3.0 : 1.0) / scale;
    }

    double uniform() { return static_cast<double>(random_() >> 11U) * 0x1p-53; }

    bool missed(int cell) {
        if (cell == 0)
            return uniform() < scenario_->bad_cell_miss;
        if (scenario_->burst <= 1.0)
            return uniform() < scenario_->miss;
        const double begins = scenario_->miss / (1.0 - scenario_->miss) / scenario_->burst;
        in_burst_ = uniform() < (in_burst_ ? 1.0 - 1.0 / scenario_->burst : begins);
        return in_burst_;
    }

    const Scenario* scenario_;
    std::mt19937_64 random_;
    std::int64_t phase_;
    bool in_burst_;
    double apart_ = 0.0; // of the last placement from the offset, in units of the scatter
};

void sow(Unit& unit, std::int64_t drop, ChannelTally& tally) {
    ledger::Entry entry;
    entry.drop.index = static_cast<std::uint32_t>(drop);
    entry.drop.position_um = drop * spacing_um;
    entry.seeds = unit.seeds_of(drop);
    std::vector<std::int64_t> errors(entry.seeds);
    std::generate(errors.begin(), errors.end(), [&] { return unit.error_um(); });
    std::sort(errors.begin(), errors.end());
    for (const std::int64_t error_um : errors) {
        const ledger::Landing landing{.position_um = entry.drop.position_um + error_um};
        tally.landed(landing);
        tally.assigned(landing, error_um);
        entry.sum_um += error_um;
    }
    tally.entry(entry);
}

using Estimates = std::map<std::string, std::optional<statistics::Estimate>>;

Estimates estimates(const Scenario& scenario, std::int64_t drops, std::uint64_t seed) {
    ChannelTally tally{{.mode = ledger::Mode::single, .spacing_um = spacing_um}};
    Unit unit{scenario, seed};
    for (std::int64_t drop = 0; drop < drops; ++drop)
        sow(unit, drop, tally);
    const Confidence confidence{0.95};
    const SpacingResult spacing = tally.spacing()->result(confidence);
    const PlacementResult placement = tally.placement().result(allowance_um, 1, confidence);
    return {{"miss_index", spacing.iso.misses},
            {"multiples_index", spacing.iso.multiples},
            {"quality_of_feed_index", spacing.iso.quality_of_feed},
            {"per_spacing.misses", spacing.per_spacing.misses},
            {"per_spacing.multiples", spacing.per_spacing.multiples},
            {"precision", spacing.precision},
            {"spacing.mean_mm", spacing.mean_mm},
            {"spacing.sd_mm", spacing.sd_mm},
            {"offset_mm", placement.offset_mm},
            {"bias_mm", placement.bias_mm},
            {"placement.sd_mm", placement.sd_mm},
            {"p95_abs_mm", placement.p95_abs_mm},
            {"within_allowance", placement.within_allowance}};
}

} // namespace

const std::vector<Scenario>& scenarios() {
    static const std::vector<Scenario> all{{.name = "healthy"},
                                           {.name = "clustered", .miss = 0.05, .burst = 2.5},
                                           {.name = "long bursts", .miss = 0.05, .burst = 5.0},
                                           {.name = "periodic",
                                            .miss = 0.015,
                                            .cells = 24,
                                            .bad_cell_miss = 0.6,
                                            .bad_cell_double = 0.5},
                                           {.name = "wandering", .memory = 0.6},
                                           {.name = "wandering 0.9", .memory = 0.9},
                                           {.name = "skewed", .steps = Steps::skewed},
                                           {.name = "heavy tails", .steps = Steps::heavy}};
    return all;
}

std::map<std::string, Covered> study(const Scenario& scenario, const Study& how) {
    const Estimates truth = estimates(scenario, how.drops_for_truth, how.seed ^ 0x7275746874ULL);
    std::map<std::string, Covered> result;
    for (int run = 0; run < how.runs; ++run) {
        const auto seed = how.seed * 1'000'003 + static_cast<std::uint64_t>(run);
        for (const auto& [name, estimate] : estimates(scenario, how.drops, seed)) {
            Covered& covered = result[name];
            ++covered.runs;
            if (!estimate || !estimate->interval)
                continue;
            ++covered.defined;
            const double value = truth.at(name)->value;
            covered.held += estimate->interval->low <= value && value <= estimate->interval->high;
        }
    }
    return result;
}

} // namespace dropledger::measures::coverage
