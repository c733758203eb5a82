#include "analysis/field/lines.hpp"

#include "analysis/field/input/ground.hpp"

#include <algorithm>
#include <cmath>

namespace dropledger::field {

namespace {

using Drops = std::vector<FieldDrop>;

// The pass in as many places as its bends need, evenly by drop.
std::vector<Place> outline_of(const Drops& drops, double length_m, bool geographic) {
    constexpr std::size_t straight_steps = 8;
    constexpr std::size_t bent_steps = 64;
    const double chord_m = distance_m(drops.front().at, drops.back().at, geographic);
    const std::size_t steps =
        std::min(chord_m < 0.998 * length_m ? bent_steps : straight_steps, drops.size() - 1);
    std::vector<Place> outline{drops.front().at};
    for (std::size_t i = 1; i <= steps; ++i)
        outline.push_back(drops[i * (drops.size() - 1) / steps].at);
    return outline;
}

// Seeds in portions of which the gate saw some.
struct Portions {
    double commanded = 0.0;
    double seen = 0.0;

    [[nodiscard]] double lacking() const { return commanded - seen; }
};

// ISO 7256-1 counts, by commanded places: a spacing that skips one drop is one of the third class,
// and so on.
struct IndexCounts {
    std::int64_t within = 0;   // n'1
    std::int64_t spacings = 0; // N
    std::int64_t misses = 0;   // n0
    bool singles_only = true;

    void add(const Drops& line) {
        std::int64_t last = 0;
        bool any = false;
        for (const FieldDrop& drop : line) {
            singles_only &= drop.target == 1;
            if (drop.seen == 0)
                continue;
            within += drop.seen - 1;
            spacings += drop.seen - 1;
            if (any) {
                ++spacings;
                misses += std::min<std::int64_t>(drop.drop - last - 1, 3);
            }
            last = drop.drop;
            any = true;
        }
    }
};

void add_indices(const IndexCounts& counts, RowReport& row) {
    const std::int64_t singles = counts.spacings - 2 * counts.within;
    const std::int64_t intervals = counts.within + singles + counts.misses;
    if (!counts.singles_only || singles < 0 || intervals <= 0)
        return;
    row.miss_index = static_cast<double>(counts.misses) / static_cast<double>(intervals);
    row.multiples_index = static_cast<double>(counts.within) / static_cast<double>(intervals);
}

struct RowSums {
    RowReport report;
    IndexCounts indices;
    Portions portions;
    std::int64_t inside_guard = 0;
};

// Of what a row's portions lack, how much was not given: between none and all of it, or what is
// left when the seeds that the gate overlooked are put back.
std::pair<double, double> share_not_given(const RowJudge& row, const Portions& all) {
    if (row.blocked || !row.efficiency || all.lacking() <= 0.0)
        return {0.0, 1.0};
    const auto left = [&](double efficiency) {
        return std::max(0.0, all.commanded - all.seen / std::max(1e-6, efficiency)) / all.lacking();
    };
    return {left(row.efficiency->low), left(row.efficiency->high)};
}

class LinesWork {
public:
    LinesWork(const Judged& judged, FieldAudit& audit) : judged_(&judged), audit_(&audit) {}

    void add(const LineKey& key, const Line& packed) {
        const Drops drops = packed.drops();
        LineReport line = report_of(key, drops);
        line.steady = judged_->steady.at(key);
        std::vector<Gap> gaps = find_gaps(audit_->field, key, drops);
        const std::vector<Chance>& chances = judged_->silent.at(key);
        const std::vector<std::int32_t>& looks = judged_->looks.at(key);
        for (Gap& gap : gaps) {
            judge(chances, gap);
            gap.look = looks.at(static_cast<std::size_t>(gap.first_silent + gap.drops() / 2));
            ++line.gaps;
            line.longest_gap_m = std::max(line.longest_gap_m, gap.length_m);
        }
        add_lost(chances, drops, line);
        add_to_row(drops, line);
        alerts_.add(key, drops);
        audit_->gaps.insert(audit_->gaps.end(), gaps.begin(), gaps.end());
        audit_->lines.push_back(std::move(line));
    }

    void finish() {
        for (auto& [number, sums] : rows_)
            finish_row(number, sums);
        spread_portions();
    }

    [[nodiscard]] AlertCounts take_alerts() { return std::move(alerts_); }

private:
    [[nodiscard]] LineReport report_of(const LineKey& key, const Drops& drops) const {
        LineReport line;
        line.key = key;
        line.drops = static_cast<std::int64_t>(drops.size());
        line.first_drop = drops.front().drop;
        line.last_drop = drops.back().drop;
        line.begins_s = drops.front().time_s;
        line.ends_s = drops.back().time_s;
        line.length_m = length_along_m(drops, audit_->field.geographic);
        line.outline = outline_of(drops, line.length_m, audit_->field.geographic);
        for (const FieldDrop& drop : drops) {
            line.silent += drop.silent() ? 1 : 0;
            line.alerts += drop.alert ? 1 : 0;
            line.seeds_commanded += drop.target;
        }
        return line;
    }

    // Chance of a gap: the mean over its drops, for it is judged as a whole.
    static void judge(const std::vector<Chance>& chances, Gap& gap) {
        Chance sum{0.0, 0.0, 0.0};
        for (std::int64_t i = 0; i < gap.drops(); ++i) {
            const Chance& one = chances.at(static_cast<std::size_t>(gap.first_silent + i));
            sum.low += one.low;
            sum.high += one.high;
            sum.best = sum.best && one.best ? std::optional(*sum.best + *one.best) : std::nullopt;
        }
        const auto n = static_cast<double>(gap.drops());
        gap.missing = {sum.low / n, sum.high / n,
                       sum.best ? std::optional(*sum.best / n) : std::nullopt};
    }

    static void add_lost(const std::vector<Chance>& chances, const Drops& drops, LineReport& line) {
        std::size_t silent = 0;
        for (const FieldDrop& drop : drops) {
            if (!drop.silent())
                continue;
            const Chance& chance = chances.at(silent++);
            line.seeds_lost_low += chance.low * drop.target;
            line.seeds_lost_high += chance.high * drop.target;
        }
    }

    void add_to_row(const Drops& drops, const LineReport& line) {
        RowSums& sums = rows_[line.key.row];
        RowReport& row = sums.report;
        row.drops += line.drops;
        row.silent += line.silent;
        row.gaps += line.gaps;
        row.alerts += line.alerts;
        row.longest_gap_m = std::max(row.longest_gap_m, line.longest_gap_m);
        row.seeds_commanded += line.seeds_commanded;
        sums.indices.add(drops);
        Portions portions;
        for (const FieldDrop& drop : drops) {
            row.doubles += drop.target > 0 && drop.seen > drop.target ? 1 : 0;
            if (drop.target > 1 && !drop.silent()) {
                portions.commanded += drop.target;
                portions.seen += std::min(drop.seen, drop.target);
            }
            if (drop.has_offset && audit_->options.guard_mm) {
                ++row.offsets;
                sums.inside_guard +=
                    std::abs(static_cast<double>(drop.offset_mm)) <= *audit_->options.guard_mm ? 1
                                                                                               : 0;
            }
        }
        sums.portions.commanded += portions.commanded;
        sums.portions.seen += portions.seen;
        lacking_.push_back(portions.lacking());
    }

    void finish_row(std::int64_t number, RowSums& sums) {
        constexpr double two_sided = 2.0; // standard deviations
        RowReport& row = sums.report;
        row.judge = judged_->rows.at(number);
        add_indices(sums.indices, row);
        if (row.offsets > 0)
            row.within_guard =
                static_cast<double>(sums.inside_guard) / static_cast<double>(row.offsets);
        not_given_[number] = share_not_given(row.judge, sums.portions);
        const auto [least, most] = not_given_[number];
        const double lacking = sums.portions.lacking();
        const Lost& lost = row.judge.lost;
        const double scatter = two_sided * std::sqrt(lost.variance);
        const double all = static_cast<double>(row.silent) * row.seeds_commanded /
                           static_cast<double>(std::max<std::int64_t>(1, row.drops));
        row.seeds_lost_low = std::max(0.0, lost.low - scatter) + least * lacking;
        row.seeds_lost_high =
            std::max(lost.high, std::min(all, lost.high + scatter)) + most * lacking;
        low_ += lost.low + least * lacking;
        high_ += lost.high + most * lacking;
        most_ += all + lacking;
        variance_ += lost.variance;
        audit_->seeds_commanded += row.seeds_commanded;
        audit_->notes.insert(audit_->notes.end(), row.judge.notes.begin(), row.judge.notes.end());
        audit_->rows.push_back(std::move(row));
        const double total_scatter = two_sided * std::sqrt(variance_);
        audit_->seeds_lost_low = std::max(0.0, low_ - total_scatter);
        audit_->seeds_lost_high = std::max(high_, std::min(most_, high_ + total_scatter));
    }

    void spread_portions() {
        for (std::size_t i = 0; i < audit_->lines.size(); ++i) {
            LineReport& line = audit_->lines[i];
            const auto [least, most] = not_given_.at(line.key.row);
            line.seeds_lost_low += least * lacking_[i];
            line.seeds_lost_high += most * lacking_[i];
        }
    }

    const Judged* judged_;
    FieldAudit* audit_;
    AlertCounts alerts_;
    std::map<std::int64_t, RowSums> rows_;
    std::map<std::int64_t, std::pair<double, double>> not_given_;
    std::vector<double> lacking_; // by line
    double low_ = 0.0;
    double high_ = 0.0;
    double most_ = 0.0;
    double variance_ = 0.0;
};

} // namespace

AlertCounts add_lines(const Judged& judged, FieldAudit& audit) {
    LinesWork work(judged, audit);
    for (const auto& [key, line] : audit.field.lines)
        work.add(key, line);
    work.finish();
    return work.take_alerts();
}

} // namespace dropledger::field
