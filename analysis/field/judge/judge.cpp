#include "analysis/field/judge/judge.hpp"

#include "analysis/field/judge/row_work.hpp"
#include "analysis/statistics/basics/distributions.hpp"
#include "analysis/statistics/basics/quantile.hpp"

#include <utility>

namespace dropledger::field {

namespace {

// A sensor that is never silent tells nothing; two other rows at least say what is usual.
void look_which_are_stuck(std::vector<RowWork>& rows) {
    for (RowWork& row : rows) {
        std::vector<double> others;
        for (const RowWork& other : rows)
            if (&other != &row && other.row().ever_seen && other.background().drops > 0.0)
                others.push_back(other.background().silent / other.background().drops);
        if (others.size() >= 2)
            row.look_whether_stuck(statistics::lower_median(std::move(others)));
    }
}

// The row with the least silent share between episodes; none where there is only one row.
std::optional<Neighbours> least_silent(const std::vector<RowWork>& rows) {
    constexpr double least_drops = 100.0;
    std::optional<Neighbours> found;
    for (const RowWork& row : rows) {
        const Background& here = row.background();
        if (here.drops < least_drops || !row.row().ever_seen || row.row().stuck)
            continue;
        const double most =
            here.silent < here.drops
                ? statistics::beta_quantile(0.975, {here.silent + 1.0, here.drops - here.silent})
                : 1.0;
        if (!found || most < found->least_silent_most)
            found = Neighbours{.least_row = row.row().row,
                               .least_silent = here.silent / here.drops,
                               .least_silent_most = most};
    }
    return rows.size() < 2 ? std::nullopt : found;
}

} // namespace

Judged judge_drops(const Field& field, const JudgeOptions& options) {
    std::vector<RowWork> rows;
    for (const auto& [row, lines] : lines_by_row(field))
        rows.emplace_back(field, lines, options);
    std::vector<RowEpisodes*> episodes;
    episodes.reserve(rows.size());
    for (RowWork& row : rows)
        episodes.push_back(&row.episodes());
    find_together(episodes);
    number_looks(episodes);
    LooksFound looks;
    for (RowWork& row : rows)
        row.take_findings(looks);
    look_which_are_stuck(rows);
    const auto neighbours = least_silent(rows);
    Judged judged;
    for (RowWork& row : rows) {
        if (neighbours)
            row.compare(*neighbours);
        row.judge(looks, judged);
        judged.rows[row.row().row] = row.row();
    }
    return judged;
}

} // namespace dropledger::field
