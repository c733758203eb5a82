#include "analysis/field/judge/looks.hpp"

#include <algorithm>

namespace dropledger::field {

namespace {

using Rows = std::vector<RowEpisodes*>;

void replace(const Rows& rows, std::int32_t from, std::int32_t to) {
    for (RowEpisodes* const row : rows)
        for (Episode& one : row->episodes)
            if (one.look == from)
                one.look = to;
}

// Of that row; none where it has no silence together with others.
std::optional<std::int32_t> together_look(const Rows& rows, std::int64_t row) {
    const auto of_row = std::find_if(rows.begin(), rows.end(),
                                     [&](const RowEpisodes* one) { return one->row == row; });
    if (of_row == rows.end())
        return std::nullopt;
    for (const Episode& one : (*of_row)->episodes)
        if (one.trace == Trace::together)
            return one.look;
    return std::nullopt;
}

// The number behind the row's last look.
std::int32_t number_looks(RowEpisodes& row, std::int32_t next) {
    row.single_look = next++;
    std::map<Trace, std::int32_t> of_trace;
    for (Episode& one : row.episodes) {
        const auto [known, first] = of_trace.emplace(one.trace, next);
        next += first ? 1 : 0;
        one.look = known->second;
    }
    return next;
}

// One look tells of all rows that fell silent together.
void join_looks(const Rows& rows, const Episode& together) {
    for (const std::int64_t other : together.other_rows)
        if (const auto theirs = together_look(rows, other); theirs && *theirs != together.look)
            replace(rows, *theirs, together.look);
}

} // namespace

void number_looks(const Rows& rows) {
    std::int32_t next = 0;
    for (RowEpisodes* const row : rows)
        next = number_looks(*row, next);
    for (const RowEpisodes* const row : rows)
        for (const Episode& one : row->episodes)
            if (one.trace == Trace::together)
                join_looks(rows, one);
}

void LooksFound::add(std::int32_t look, double missing_share) {
    constexpr double nearly_all = 0.8;
    Count& count = counts_[look];
    count.missing += missing_share > 1.0 - nearly_all ? 1 : 0;
    count.seed += missing_share < nearly_all ? 1 : 0; // part of them found: both
}

std::optional<bool> LooksFound::missing(std::int32_t look) const {
    const auto found = counts_.find(look);
    if (found == counts_.end() || (found->second.missing > 0 && found->second.seed > 0))
        return std::nullopt;
    return found->second.missing > 0;
}

} // namespace dropledger::field
