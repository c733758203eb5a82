#include "tests/analysis/measures/share_coverage.hpp"

#include "analysis/measures/channel_tally.hpp"
#include "analysis/statistics/shares/proportion.hpp"

#include <fmt/format.h>

#include <cmath>
#include <functional>
#include <numbers>
#include <optional>
#include <random>
#include <utility>

namespace dropledger::measures::coverage {

namespace {

using statistics::Estimate;
using statistics::Interval;

constexpr std::int64_t spacing_um = 180'000;
constexpr double scatter_um = 8'000.0;
const Confidence usual{0.95};

class Random {
public:
    explicit Random(std::uint64_t seed) : engine_(seed) {}
    double uniform() { return static_cast<double>(engine_() >> 11U) * 0x1p-53; }
    double normal() {
        return std::sqrt(-2.0 * std::log(1.0 - uniform())) *
               std::cos(2.0 * std::numbers::pi * uniform());
    }

private:
    std::mt19937_64 engine_;
};

// The sequence of hits of one scenario, drop by drop, in its steady state.
class Hits {
public:
    Hits(const ShareScenario& scenario, Random& random) : scenario_(&scenario), random_(&random) {
        if (scenario.pattern == Pattern::bad_cell)
            drop_ = static_cast<std::int64_t>(random.uniform() * scenario.cells);
        for (int drop = 0; scenario.pattern != Pattern::bad_cell && drop < 300; ++drop)
            next();
    }

    bool next() {
        ++drop_;
        switch (scenario_->pattern) {
        case Pattern::independent:
            return random_->uniform() < scenario_->share;
        case Pattern::bad_cell:
            return random_->uniform() < cell_share();
        case Pattern::rows:
        case Pattern::equal_rows:
            break;
        }
        if (left_ > 0)
            return --left_ > 0; // a row is followed by one drop at least that is no hit
        if (random_->uniform() < 1.0 / mean_pause())
            left_ = length();
        return left_ > 0;
    }

private:
    [[nodiscard]] double cell_share() const {
        const double cells = scenario_->cells;
        const double bad = std::min(0.9, 0.8 * scenario_->share * cells);
        return drop_ % scenario_->cells == 0 ? bad : (scenario_->share * cells - bad) / (cells - 1);
    }

    // Drops from the end of a row to the next start.
    [[nodiscard]] double mean_pause() const {
        return scenario_->row_length * (1.0 - scenario_->share) / scenario_->share;
    }

    std::int64_t length() {
        if (scenario_->pattern == Pattern::equal_rows) {
            const double whole = std::floor(scenario_->row_length);
            const bool longer = random_->uniform() < scenario_->row_length - whole;
            return static_cast<std::int64_t>(whole) + (longer ? 1 : 0);
        }
        std::int64_t drops = 1;
        while (random_->uniform() >= 1.0 / scenario_->row_length)
            ++drops;
        return drops;
    }

    const ShareScenario* scenario_;
    Random* random_;
    std::int64_t drop_ = 0;
    std::int64_t left_ = 0; // hits of the row that are still to come, and this one
};

void sow(std::int64_t drop, std::uint32_t seeds, Random& random, ChannelTally& tally) {
    ledger::Entry entry;
    entry.drop.index = static_cast<std::uint32_t>(drop);
    entry.drop.position_um = drop * spacing_um;
    entry.seeds = seeds;
    std::vector<std::int64_t> errors(seeds);
    for (std::int64_t& error_um : errors)
        error_um = std::llround(scatter_um * random.normal());
    std::sort(errors.begin(), errors.end());
    for (const std::int64_t error_um : errors) {
        const ledger::Landing landing{.position_um = entry.drop.position_um + error_um};
        tally.landed(landing);
        tally.assigned(landing, error_um);
        entry.sum_um += error_um;
    }
    tally.entry(entry);
}

ChannelTally run(const ShareScenario& scenario, double other_share, std::int64_t drops,
                 std::uint64_t seed) {
    ChannelTally tally{{.mode = ledger::Mode::single, .spacing_um = spacing_um}};
    Random random{seed};
    Hits hits{scenario, random};
    for (std::int64_t drop = 0; drop < drops; ++drop) {
        const bool hit = hits.next();
        const bool other = random.uniform() < other_share;
        const bool miss = scenario.of_multiples ? !hit && other : hit;
        const bool multiple = scenario.of_multiples ? hit : !hit && other;
        sow(drop, miss ? 0 : multiple ? 2 : 1, random, tally);
    }
    return tally;
}

struct Quantity {
    std::optional<Estimate> estimate;
    std::optional<Interval> classical;
};
using Quantities = std::map<std::string, Quantity>;

Interval clopper_pearson(std::int64_t x, std::int64_t n) {
    return statistics::clopper_pearson(x, n, usual);
}

void add_ledger(const ChannelTally& tally, Quantities& all) {
    const LedgerTable& table = tally.entries().table();
    const SingleShares shares = tally.entries().single_shares(usual);
    all["ledger.miss"] = {shares.miss, clopper_pearson(table.miss, table.drops)};
    all["ledger.multiple"] = {shares.multiple, clopper_pearson(table.multiple, table.drops)};
    all["ledger.single"] = {shares.single, clopper_pearson(table.single, table.drops)};
}

Quantities quantities(const ChannelTally& tally) {
    Quantities all;
    add_ledger(tally, all);
    const SpacingResult spacing = tally.spacing()->result(usual);
    const IndexCounts& c = spacing.counts;
    const auto of_intervals = [&](std::int64_t x) {
        return c.defined() ? std::optional{clopper_pearson(x, c.intervals())} : std::nullopt;
    };
    const std::int64_t n = c.spacings();
    const auto of_spacings = [&](std::int64_t x) {
        return n > 0 ? std::optional{clopper_pearson(x, n)} : std::nullopt;
    };
    all["miss_index"] = {spacing.iso.misses, of_intervals(c.misses())};
    all["multiples_index"] = {spacing.iso.multiples, of_intervals(c.multiples())};
    all["quality_of_feed_index"] = {spacing.iso.quality_of_feed, of_intervals(c.singles())};
    all["per_spacing.misses"] = {spacing.per_spacing.misses,
                                 of_spacings(c.classes[2] + c.classes[3] + c.classes[4])};
    all["per_spacing.multiples"] = {spacing.per_spacing.multiples, of_spacings(c.multiples())};
    all["per_spacing.quality"] = {spacing.per_spacing.quality_of_feed, of_spacings(c.classes[1])};
    all["cp3_about_reference"] = {spacing.cp3_about_reference.share,
                                  of_spacings(spacing.cp3_about_reference.inside)};
    std::optional<Interval> student;
    if (spacing.sd_mm) {
        const double half = 1.96 * spacing.sd_mm->value / std::sqrt(static_cast<double>(n));
        student = Interval{spacing.mean_mm->value - half, spacing.mean_mm->value + half};
    }
    all["spacing.mean_mm"] = {spacing.mean_mm, student};
    all["spacing.sd_mm"] = {spacing.sd_mm, std::nullopt};
    return all;
}

void take_up(const Quantity& quantity, double truth, bool hidden, ShareCovered& covered) {
    ++covered.runs;
    covered.hidden += hidden ? 1 : 0;
    if (!quantity.estimate || !quantity.estimate->interval)
        return;
    const Interval& interval = *quantity.estimate->interval;
    const bool holds = interval.low <= truth && truth <= interval.high;
    ++covered.defined;
    covered.held += holds ? 1 : 0;
    covered.defined_shown += hidden ? 0 : 1;
    covered.held_shown += holds && !hidden ? 1 : 0;
    if (!quantity.classical)
        return;
    covered.classical_held +=
        quantity.classical->low <= truth && truth <= quantity.classical->high ? 1 : 0;
    covered.width += interval.high - interval.low;
    covered.classical += quantity.classical->high - quantity.classical->low;
}

std::uint64_t seed_of(const ShareStudy& how, int number) {
    return how.seed * 1'000'003 + static_cast<std::uint64_t>(number);
}

constexpr double other_share = 0.01;

} // namespace

std::string ShareScenario::name() const {
    switch (pattern) {
    case Pattern::independent:
        return "independent";
    case Pattern::rows:
        return fmt::format("rows of {:g}", row_length);
    case Pattern::equal_rows:
        return fmt::format("equal rows of {:g}", row_length);
    case Pattern::bad_cell:
        return fmt::format("1 cell of {}", cells);
    }
    return "";
}

std::vector<ShareScenario> share_scenarios(double share, bool of_multiples) {
    std::vector<ShareScenario> all{{.share = share, .of_multiples = of_multiples}};
    for (const Pattern pattern : {Pattern::rows, Pattern::equal_rows})
        for (const double length : {2.5, 5.0, 10.0})
            all.push_back({pattern, share, length, 0, of_multiples});
    for (const int cells : {8, 24})
        all.push_back({Pattern::bad_cell, share, 1.0, cells, of_multiples});
    return all;
}

std::map<std::string, ShareCovered> share_study(const ShareScenario& scenario,
                                                const ShareStudy& how) {
    const Quantities truth =
        quantities(run(scenario, other_share, how.drops_for_truth, how.seed ^ 0x7275746874ULL));
    const bool has_rows = scenario.row_length > 1.0;
    std::map<std::string, ShareCovered> result;
    for (int number = 0; number < how.runs; ++number) {
        const ChannelTally tally = run(scenario, other_share, how.drops, seed_of(how, number));
        const EntryTally& entries = tally.entries();
        const IndexCounts& counts = tally.spacing()->counts();
        const bool in_ledger =
            !(scenario.of_multiples ? entries.multiples() : entries.misses()).rows().isolated();
        // A row at either end of the run is no spacing.
        const bool in_spacings =
            scenario.of_multiples ? in_ledger : counts.classes[3] + counts.classes[4] > 0;
        for (const auto& [name, quantity] : quantities(tally)) {
            const bool shows = name.rfind("ledger.", 0) == 0 ? in_ledger : in_spacings;
            take_up(quantity, truth.at(name).estimate->value, has_rows && !shows, result[name]);
        }
    }
    return result;
}

Usefulness usefulness(const UnitShares& unit, const ShareStudy& how) {
    constexpr double limit = 0.05;
    constexpr std::int64_t least_events = 3;
    const ShareScenario scenario{.share = unit.miss};
    Usefulness sum;
    for (int number = 0; number < how.runs; ++number) {
        const double others = unit.multiple / (1.0 - unit.miss);
        const ChannelTally tally = run(scenario, others, how.drops, seed_of(how, number));
        const SpacingResult spacing = tally.spacing()->result(usual);
        const SingleShares shares = tally.entries().single_shares(usual);
        bool within = true;
        bool outside = false;
        for (const auto& share :
             {shares.miss, shares.multiple, spacing.iso.misses, spacing.iso.multiples}) {
            within = within && share && share->interval->high <= limit;
            outside = outside || (share && share->interval->low > limit &&
                                  share->events.value_or(0) >= least_events);
        }
        sum.within += within ? 1.0 : 0.0;
        sum.outside += outside ? 1.0 : 0.0;
    }
    return {sum.within / how.runs, sum.outside / how.runs};
}

} // namespace dropledger::measures::coverage
