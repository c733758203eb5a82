#include "analysis/field/alerts.hpp"

#include <algorithm>
#include <map>

namespace dropledger::field {

namespace {

constexpr std::int64_t slack = 12; // drops between a gap and its alert, where no delay is known

struct Found {
    std::size_t gap = 0;
    std::int64_t behind = 0; // drops from its last one
};

// The gap at that drop, or the nearest one of the line before it.
std::optional<Found> gap_before(const std::vector<Gap>& gaps, const LineKey& key,
                                std::int64_t drop) {
    auto after = std::upper_bound(
        gaps.begin(), gaps.end(), std::pair{key, drop}, [](const auto& place, const Gap& gap) {
            return place.first != gap.key ? place.first < gap.key : place.second < gap.first_drop;
        });
    if (after == gaps.begin() || std::prev(after)->key != key)
        return std::nullopt;
    --after;
    return Found{static_cast<std::size_t>(after - gaps.begin()),
                 std::max<std::int64_t>(0, drop - after->last_drop)};
}

// Each pass of a row, and the one that the row drove before it.
class PassesBefore {
public:
    explicit PassesBefore(const FieldAudit& audit) {
        std::map<std::int64_t, std::vector<const LineReport*>> rows;
        for (const LineReport& line : audit.lines)
            rows[line.key.row].push_back(&line);
        for (auto& [row, lines] : rows) {
            std::stable_sort(
                lines.begin(), lines.end(),
                [](const LineReport* a, const LineReport* b) { return a->begins_s < b->begins_s; });
            for (std::size_t i = 0; i < lines.size(); ++i)
                lines_[lines[i]->key] = {lines[i], i > 0 ? lines[i - 1] : nullptr};
        }
    }

    // The last gap of the pass before, and how many drops lie between it and that drop.
    [[nodiscard]] std::optional<Found> last_gap(const std::vector<Gap>& gaps, const LineKey& key,
                                                std::int64_t drop) const {
        const auto& [line, before] = lines_.at(key);
        if (before == nullptr)
            return std::nullopt;
        auto found = gap_before(gaps, before->key, before->last_drop);
        if (found)
            found->behind += drop - line->first_drop + 1;
        return found;
    }

private:
    std::map<LineKey, std::pair<const LineReport*, const LineReport*>> lines_;
};

// The shortest length from which on at least nine in ten gaps raised an alert.
void find_silent_alarms(FieldAudit& audit) {
    if (!audit.field.has_alerts || audit.alerts.empty())
        return;
    std::vector<std::pair<std::int64_t, bool>> gaps;
    for (const Gap& gap : audit.gaps)
        gaps.emplace_back(gap.drops(), gap.alerts > 0);
    std::sort(gaps.begin(), gaps.end(), std::greater<>());
    std::int64_t with = 0;
    for (std::size_t i = 0; i < gaps.size(); ++i) {
        with += gaps[i].second ? 1 : 0;
        const bool last_of_length = i + 1 == gaps.size() || gaps[i + 1].first != gaps[i].first;
        if (last_of_length && 10 * with >= 9 * static_cast<std::int64_t>(i + 1))
            audit.alert_after_drops = gaps[i].first;
    }
    if (!audit.alert_after_drops)
        return;
    for (std::size_t i = 0; i < audit.gaps.size(); ++i)
        if (audit.gaps[i].alerts == 0 && audit.gaps[i].drops() >= *audit.alert_after_drops)
            audit.silent_alarms.push_back(i);
}

} // namespace

void AlertCounts::add(const LineKey& key, const std::vector<FieldDrop>& drops) {
    std::vector<std::int64_t> run(drops.size(), 0); // silent drops that end here
    for (std::size_t i = 0; i < drops.size(); ++i) {
        const bool goes_on = i > 0 && drops[i].drop == drops[i - 1].drop + 1;
        run[i] = drops[i].silent() ? 1 + (goes_on ? run[i - 1] : 0) : 0;
        if (!drops[i].alert)
            continue;
        alerts_.push_back({.key = key,
                           .drop = drops[i].drop,
                           .time_s = drops[i].time_s,
                           .at = drops[i].at,
                           .seen = !drops[i].silent(),
                           .gap = std::nullopt,
                           .missing = {}});
        for (std::int64_t late = 0; late <= std::min(longest_delay, static_cast<std::int64_t>(i));
             ++late)
            ++runs_.at(static_cast<std::size_t>(late))
                  .at(static_cast<std::size_t>(
                      std::min(longest_run, run[i - static_cast<std::size_t>(late)])));
    }
}

std::optional<AlertDelay> AlertCounts::delay() const {
    constexpr std::int64_t fewest = 5;
    constexpr double nearly_all = 0.95;
    constexpr double most_at_least = 0.5;
    const auto all = static_cast<double>(alerts_.size());
    if (static_cast<std::int64_t>(alerts_.size()) < fewest)
        return std::nullopt;
    const double at_silent = 1.0 - static_cast<double>(runs_.front().front()) / all;
    if (at_silent >= nearly_all)
        return AlertDelay{0, at_silent};
    AlertDelay best;
    for (std::int64_t late = 0; late <= longest_delay; ++late) {
        const auto& runs = runs_.at(static_cast<std::size_t>(late));
        const double one_length =
            static_cast<double>(*std::max_element(runs.begin() + 1, runs.end())) / all;
        if (one_length > best.explains + 0.01)
            best = {late, one_length};
    }
    return best.explains >= most_at_least ? std::optional(best) : std::nullopt;
}

void add_alerts(const AlertCounts& counts, FieldAudit& audit) {
    audit.alerts = counts.alerts();
    audit.alert_delay = counts.delay();
    const std::int64_t late = audit.alert_delay ? audit.alert_delay->drops : 0;
    const PassesBefore before(audit);
    for (Alert& alert : audit.alerts) {
        auto found = gap_before(audit.gaps, alert.key, alert.drop - late);
        if (!found || found->behind > slack)
            found = gap_before(audit.gaps, alert.key, alert.drop);
        const std::int64_t reach = audit.alert_delay ? slack + late : AlertCounts::longest_delay;
        if (!found || found->behind > reach)
            found = before.last_gap(audit.gaps, alert.key, alert.drop);
        if (!found || found->behind > reach)
            continue;
        alert.gap = found->gap;
        Gap& gap = audit.gaps[found->gap];
        ++gap.alerts;
        alert.missing = gap.missing;
    }
    find_silent_alarms(audit);
}

} // namespace dropledger::field
