#include "analysis/field/field_causes.hpp"

#include "analysis/field/row_causes.hpp"
#include "analysis/statistics/basics/quantile.hpp"

#include <algorithm>

namespace dropledger::field {

namespace {

double doubles_share(const RowReport& row) {
    return static_cast<double>(row.doubles) /
           static_cast<double>(std::max<std::int64_t>(1, row.drops - row.silent));
}

Others others_of(const FieldAudit& audit, std::int64_t row) {
    std::vector<double> silent;
    std::vector<double> doubles;
    for (const RowReport& one : audit.rows)
        if (one.judge.row != row && one.judge.ever_seen) {
            silent.push_back(one.judge.silent_share);
            doubles.push_back(doubles_share(one));
        }
    if (silent.empty())
        return {};
    return {statistics::lower_median(silent), statistics::lower_median(doubles), true};
}

std::optional<FieldCause> first_cause(const FieldAudit& audit, const RowReport& row) {
    std::vector<FieldCause> all = episode_causes(row);
    const std::vector<FieldCause> patterns =
        pattern_causes(audit, row, others_of(audit, row.judge.row));
    all.insert(all.end(), patterns.begin(), patterns.end());
    if (all.empty())
        return std::nullopt;
    std::stable_sort(all.begin(), all.end(),
                     [](const FieldCause& a, const FieldCause& b) { return a.seeds > b.seeds; });
    FieldCause cause = std::move(all.front());
    for (std::size_t i = 1; i < all.size(); ++i)
        cause.also.push_back(all[i].kind);
    return cause;
}

} // namespace

std::vector<FieldCause> field_causes(const FieldAudit& audit) {
    std::vector<FieldCause> causes;
    for (const RowReport& row : audit.rows)
        if (auto cause = first_cause(audit, row))
            causes.push_back(*std::move(cause));
    std::stable_sort(causes.begin(), causes.end(),
                     [](const FieldCause& a, const FieldCause& b) { return a.seeds > b.seeds; });
    return causes;
}

} // namespace dropledger::field
