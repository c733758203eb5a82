#include "analysis/measures/entries.hpp"

#include "analysis/base/result.hpp"
#include "analysis/statistics/shares/proportion.hpp"
#include "analysis/statistics/shares/row_share.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace dropledger::measures {

namespace {

EntryKind portion_kind(const ledger::Entry& entry) {
    if (entry.seeds == 0)
        return EntryKind::empty;
    if (entry.seeds < entry.drop.target)
        return EntryKind::shorted;
    return entry.seeds == entry.drop.target ? EntryKind::exact : EntryKind::over;
}

std::int64_t& column(LedgerTable& table, EntryKind kind) {
    switch (kind) {
    case EntryKind::miss:
        return table.miss;
    case EntryKind::single:
        return table.single;
    case EntryKind::multiple:
        return table.multiple;
    case EntryKind::empty:
        return table.empty;
    case EntryKind::shorted:
        return table.shorted;
    case EntryKind::exact:
        return table.exact;
    case EntryKind::over:
        return table.over;
    }
    throw BrokenInvariant("an entry of no kind");
}

} // namespace

EntryKind kind_of(const ledger::Entry& entry, ledger::Mode mode) {
    if (mode == ledger::Mode::portion)
        return portion_kind(entry);
    if (entry.seeds == 0)
        return EntryKind::miss;
    return entry.seeds == 1 ? EntryKind::single : EntryKind::multiple;
}

bool LedgerTable::balanced() const {
    return drops == single + multiple + miss + empty + shorted + exact + over &&
           seeds == entered + strays;
}

EntryKind EntryTally::add(const ledger::Entry& entry) {
    const EntryKind kind = kind_of(entry, mode_);
    ++table_.drops;
    ++column(table_, kind);
    table_.entered += entry.seeds;
    misses_.add(entry.seeds == 0);
    multiples_.add(kind == EntryKind::multiple || kind == EntryKind::over);
    if (mode_ != ledger::Mode::portion)
        return kind;
    exact_.add(kind == EntryKind::exact);
    shorted_.add(kind == EntryKind::shorted);
    if (entry.seeds > 0)
        filled_counts_.add(entry.seeds);
    if (entry.seeds >= 2)
        add_length(entry.last_um - entry.first_um);
    const std::size_t shown = std::min<std::size_t>(entry.seeds, greatest_count_shown);
    if (distribution_.size() <= shown)
        distribution_.resize(shown + 1, 0);
    ++distribution_[shown];
    return kind;
}

void EntryTally::add_length(std::int64_t length_um) {
    spreads_um_.add(length_um);
    const auto length_class = static_cast<std::size_t>(std::max<std::int64_t>(0, length_um) /
                                                       PortionResult::length_class_um);
    const std::size_t shown = std::min(length_class, PortionResult::length_classes - 1);
    if (lengths_.size() <= shown)
        lengths_.resize(shown + 1, 0);
    ++lengths_[shown];
}

SingleShares EntryTally::single_shares(Confidence confidence) const {
    if (table_.drops == 0)
        return {};
    SingleShares shares;
    shares.miss = misses_.share(confidence);
    shares.multiple = multiples_.share(confidence);
    shares.single =
        rest_of(misses_, multiples_, {*shares.miss, *shares.multiple, table_.single, table_.drops});
    return shares;
}

PortionShares EntryTally::portion_shares(Confidence confidence) const {
    if (table_.drops == 0)
        return {};
    return {.empty = misses_.share(confidence),
            .shorted = shorted_.share(confidence),
            .exact = exact_.share(confidence),
            .over = multiples_.share(confidence)};
}

// Share of portions that are not empty times their mean count: empties come in rows and are rare,
// which a share's interval allows for and a mean's does not.
std::optional<statistics::Estimate> EntryTally::mean_count(Confidence confidence) const {
    const auto filled = mean_of(filled_counts_, "mean of portions not empty", confidence);
    const auto empty = misses_.share(confidence);
    if (!filled) // all are empty
        return statistics::Estimate{.value = 0.0,
                                    .confidence = confidence,
                                    .method = "mean; no portion holds a seed",
                                    .no_interval = statistics::NoInterval::all_equal};
    const double m = filled->value;
    const double q = 1.0 - empty->value;
    statistics::Estimate out{.value = q * m,
                             .interval = std::nullopt,
                             .confidence = confidence,
                             .method =
                                 fmt::format("{}; times the share that is not empty (empties: {})",
                                             filled->method, empty->method),
                             .no_interval = filled->no_interval};
    if (filled->interval && empty->interval)
        out.interval = statistics::Interval{
            std::max(0.0, out.value - std::hypot(m * (q - (1.0 - empty->interval->high)),
                                                 q * (m - filled->interval->low))),
            out.value + std::hypot(m * ((1.0 - empty->interval->low) - q),
                                   q * (filled->interval->high - m))};
    return out;
}

std::optional<PortionResult> EntryTally::portion(Confidence confidence) const {
    if (mode_ != ledger::Mode::portion || table_.drops == 0)
        return std::nullopt;
    PortionResult result;
    result.mean_count = mean_count(confidence);
    result.exact_inflation = exact_.independence().inflation;
    result.exact_share = exact_.share(confidence);
    if (result.exact_share) // what speaks against a unit are the portions that are not exact
        result.exact_share->events = exact_.rows().others().events();
    result.spread_mm = mean_of(spreads_um_, "mean", confidence);
    if (result.spread_mm) {
        result.spread_mm->value /= 1000.0;
        if (auto& interval = result.spread_mm->interval)
            interval = statistics::Interval{std::max(0.0, interval->low / 1000.0),
                                            interval->high / 1000.0};
    }
    result.count_distribution = distribution_;
    result.length_distribution = lengths_;
    return result;
}

void EntryTally::check_identities(int channel) const {
    if (!table_.balanced())
        throw BrokenInvariant(fmt::format(
            "the ledger of channel {} does not balance: {} drops against {} single, {} multiple, "
            "{} miss, {} empty, {} short, {} exact, {} over; {} seeds against {} entered and {} "
            "stray",
            channel, table_.drops, table_.single, table_.multiple, table_.miss, table_.empty,
            table_.shorted, table_.exact, table_.over, table_.seeds, table_.entered,
            table_.strays));
}

} // namespace dropledger::measures
