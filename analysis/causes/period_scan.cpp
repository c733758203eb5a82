#include "analysis/causes/period_scan.hpp"

#include "analysis/statistics/basics/distributions.hpp"

#include <algorithm>
#include <cmath>

namespace dropledger::causes {

PeriodScan::PeriodScan(std::optional<std::int64_t> cells) {
    const std::int64_t last = cells.value_or(longest_period);
    first_period_ = cells.value_or(2);
    for (std::int64_t period = first_period_; period <= last; ++period) {
        hits_.emplace_back(static_cast<std::size_t>(period), 0);
        tests_ += static_cast<double>(period);
    }
}

void PeriodScan::add_hit(std::int64_t index) {
    ++all_hits_;
    std::int64_t period = first_period_;
    for (std::vector<std::int64_t>& residues : hits_)
        ++residues[static_cast<std::size_t>(index % period++)];
}

// Drops of that residue between the first index and the last.
std::int64_t PeriodScan::drops_at(std::int64_t period, std::int64_t residue) const {
    const auto up_to = [&](std::int64_t index) { // indices 0 … index of that residue
        return index < residue ? 0 : (index - residue) / period + 1;
    };
    return up_to(last_) - up_to(first_ - 1);
}

Periodic PeriodScan::at(std::int64_t period, std::int64_t residue, std::int64_t hits) const {
    Periodic found{.cells = period,
                   .residue = residue,
                   .hits = hits,
                   .drops = std::max(hits, drops_at(period, residue)),
                   .all_hits = all_hits_,
                   .all_drops = std::max(drops_, last_ - first_ + 1),
                   .start = start_,
                   .p_value = 1.0};
    const double share = static_cast<double>(all_hits_) / static_cast<double>(found.all_drops);
    // A residue that holds hardly more than its share is not worth the exact law.
    const double expected = share * static_cast<double>(found.drops);
    if (static_cast<double>(hits) <= expected + 2.5 * std::sqrt(expected))
        return found;
    const double p = statistics::hypergeometric_sf(
        hits - 1, {.lot = found.all_drops, .nonconforming = all_hits_, .sample = found.drops});
    found.p_value = std::min(1.0, p * tests_);
    return found;
}

std::optional<Periodic> PeriodScan::strongest_of_start() const {
    if (all_hits_ < 3 || drops_ < 3 * first_period_)
        return std::nullopt;
    std::optional<Periodic> best;
    std::int64_t period = first_period_;
    for (const std::vector<std::int64_t>& residues : hits_) {
        for (std::size_t r = 0; r < residues.size(); ++r) {
            if (residues[r] < 3 || drops_ < 3 * period)
                continue;
            const Periodic one = at(period, static_cast<std::int64_t>(r), residues[r]);
            if (!best || one.p_value < best->p_value)
                best = one;
        }
        ++period;
    }
    return best;
}

void PeriodScan::begin_start(std::int64_t start) {
    if (const auto found = strongest_of_start()) {
        ++starts_tested_;
        if (!best_ || found->p_value < best_->p_value)
            best_ = found;
    }
    start_ = start;
    if (all_hits_ > 0)
        for (std::vector<std::int64_t>& residues : hits_)
            std::fill(residues.begin(), residues.end(), 0);
    first_ = last_ = -1;
    drops_ = all_hits_ = 0;
}

std::optional<Periodic> PeriodScan::strongest() const {
    std::optional<Periodic> best = best_;
    std::int64_t looks = starts_tested_;
    if (const auto found = strongest_of_start()) {
        ++looks;
        if (!best || found->p_value < best->p_value)
            best = found;
    }
    if (best)
        best->p_value = std::min(1.0, best->p_value * static_cast<double>(looks));
    return best;
}

} // namespace dropledger::causes
