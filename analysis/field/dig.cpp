#include "analysis/field/dig.hpp"

#include <algorithm>
#include <map>

namespace dropledger::field {

namespace {

struct Open { // of one row: within its episodes, or of single silent drops
    std::int64_t alerts = 0;
    double length_m = 0.0;
    std::size_t longest = 0; // of `gaps`
    bool any = false;
};

struct RowPart {
    std::int64_t row = 0;
    bool episode = false;
    friend auto operator<=>(const RowPart&, const RowPart&) = default; // NOLINT
};

bool in_episode(const RowJudge& row, const Gap& gap) {
    return std::any_of(row.episodes.begin(), row.episodes.end(), [&](const Episode& one) {
        const bool behind_first = gap.key.pass > one.first_key.pass ||
                                  (gap.key == one.first_key && gap.last_drop >= one.first_drop);
        const bool before_last = gap.key.pass < one.last_key.pass ||
                                 (gap.key == one.last_key && gap.first_drop <= one.last_drop);
        return behind_first && before_last;
    });
}

const RowJudge& judge_of(const FieldAudit& audit, std::int64_t row) {
    return std::find_if(audit.rows.begin(), audit.rows.end(),
                        [&](const RowReport& one) { return one.judge.row == row; })
        ->judge;
}

std::vector<std::int64_t> silent_with(const RowJudge& row) {
    std::vector<std::int64_t> rows;
    for (const Episode& one : row.episodes)
        for (const std::int64_t other : one.other_rows)
            if (std::find(rows.begin(), rows.end(), other) == rows.end())
                rows.push_back(other);
    return rows;
}

} // namespace

std::optional<Dig> where_to_dig(const FieldAudit& audit) {
    std::map<RowPart, Open> open;
    std::vector<bool> episodes(audit.gaps.size(), false);
    for (std::size_t g = 0; g < audit.gaps.size(); ++g) {
        const Gap& gap = audit.gaps[g];
        if (judged(gap.missing) != Judgement::unknown)
            continue;
        Open& one = open[{gap.key.row, in_episode(judge_of(audit, gap.key.row), gap)}];
        one.alerts += gap.alerts;
        one.length_m += audit.undecided(gap) ? gap.length_m : 0.0;
        if (!one.any || audit.gaps[one.longest].length_m < gap.length_m)
            one.longest = g;
        one.any = true;
    }
    std::optional<Dig> best;
    for (const auto& [where, one] : open) {
        Dig dig{one.longest, one.alerts, one.length_m, 1, !where.episode};
        if (where.episode)
            for (const std::int64_t other : silent_with(judge_of(audit, where.row)))
                if (const auto found = open.find({other, true}); found != open.end()) {
                    dig.alerts += found->second.alerts;
                    dig.length_m += found->second.length_m;
                    ++dig.rows;
                }
        if (dig.alerts == 0 && dig.length_m <= 0.0)
            continue;
        if (!best || std::pair(dig.alerts, dig.length_m) > std::pair(best->alerts, best->length_m))
            best = dig;
    }
    return best;
}

} // namespace dropledger::field
