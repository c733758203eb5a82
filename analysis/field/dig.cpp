#include "analysis/field/dig.hpp"

#include <algorithm>
#include <map>
#include <set>

namespace dropledger::field {

namespace {

struct Open { // of one look
    std::int64_t alerts = 0;
    double length_m = 0.0;
    std::size_t longest = 0; // of `gaps`
    std::set<std::int64_t> rows;

    [[nodiscard]] bool more_than(const Open& other) const {
        return std::pair(alerts, length_m) > std::pair(other.alerts, other.length_m);
    }
};

void take(const FieldAudit& audit, std::size_t number, Open& open) {
    const Gap& gap = audit.gaps[number];
    open.alerts += gap.alerts;
    open.length_m += audit.undecided(gap) ? gap.length_m : 0.0;
    if (open.rows.empty() || audit.gaps[open.longest].length_m < gap.length_m)
        open.longest = number;
    open.rows.insert(gap.key.row);
}

bool is_single(const FieldAudit& audit, const Gap& gap) {
    return std::any_of(audit.rows.begin(), audit.rows.end(), [&](const RowReport& row) {
        return row.judge.row == gap.key.row && row.judge.single_look == gap.look;
    });
}

} // namespace

std::optional<Dig> where_to_dig(const FieldAudit& audit) {
    std::map<std::int32_t, Open> by_look;
    Open best;
    for (std::size_t g = 0; g < audit.gaps.size(); ++g) {
        const Gap& gap = audit.gaps[g];
        if (judged(gap.missing) != Judgement::unknown)
            continue;
        Open alone;
        Open& open = gap.look < 0 ? alone : by_look[gap.look];
        take(audit, g, open);
        if (open.more_than(best))
            best = open;
    }
    if (best.rows.empty())
        return std::nullopt;
    return Dig{best.longest, best.alerts, best.length_m,
               static_cast<std::int64_t>(best.rows.size()),
               is_single(audit, audit.gaps[best.longest])};
}

} // namespace dropledger::field
