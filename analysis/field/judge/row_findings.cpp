// What digging found in a row, and what it tells of drops that nobody dug at.
#include "analysis/field/judge/row_work.hpp"

#include "analysis/statistics/basics/distributions.hpp"

#include <algorithm>
#include <set>

namespace dropledger::field {

// Of the silent drops within it; seeds found beyond those that the sensor saw fell at silent ones.
double RowWork::missing_share(const Finding& finding) const {
    if (finding.some || finding.is_missing())
        return finding.some ? 0.0 : 1.0;
    double silent = 0.0;
    for (const PassDrops& pass : passes_)
        if (pass.key.pass == finding.pass)
            for (const SilentDrop& drop : pass.silent)
                silent += finding.first_drop <= drop.drop && drop.drop <= finding.last_drop ? 1 : 0;
    const double seen = static_cast<double>(finding.last_drop - finding.first_drop + 1) - silent;
    const double beyond = static_cast<double>(finding.seeds) / seeds_per_drop_ - seen;
    return std::clamp(1.0 - beyond / std::max(silent, 1.0), 0.0, 1.0);
}

std::optional<double> RowWork::found_at(const LineKey& key, std::int64_t drop) const {
    for (const Dug& one : dug_)
        if (one.key == key && one.first_drop <= drop && drop <= one.last_drop)
            return one.missing_share;
    return std::nullopt;
}

// The looks of the episodes in which somebody dug.
std::set<std::int32_t> RowWork::looks_at(const Dug& dug) const {
    std::set<std::int32_t> told;
    for (const PassDrops& pass : passes_) {
        if (pass.key != dug.key)
            continue;
        for (const SilentDrop& drop : pass.silent)
            if (drop.episode >= 0 && dug.first_drop <= drop.drop && drop.drop <= dug.last_drop)
                told.insert(episodes_.episodes[static_cast<std::size_t>(drop.episode)].look);
    }
    return told;
}

void RowWork::take_findings(LooksFound& looks) {
    for (const Finding& one : options_->findings)
        if (one.row == judge_.row)
            dug_.push_back(
                {{one.pass, one.row}, one.first_drop, one.last_drop, missing_share(one)});
    for (const Dug& dug : dug_)
        for (const std::int32_t look : looks_at(dug))
            looks.add(look, dug.missing_share);
}

// A look at a drop of a row that changes tells of that place only, and so does one at a start or
// before an outage.
std::int32_t RowWork::look_of(const SilentDrop& drop) const {
    if (drop.episode >= 0)
        return episodes_.episodes[static_cast<std::size_t>(drop.episode)].look;
    const bool alike = drop.run_up < 0 && drop.apart == Apart::no && !judge_.drift.changes;
    return alike ? episodes_.single_look : -1;
}

// Digging at single silent drops tells how often seed is missing at the row's others.
void RowWork::settle_singles() {
    double missing = 0.0;
    double looks = 0.0;
    for (const PassDrops& pass : passes_)
        for (const SilentDrop& drop : pass.silent)
            if (const auto share = found_at(pass.key, drop.drop);
                share && look_of(drop) == episodes_.single_look) {
                looks += 1.0;
                missing += *share;
            }
    constexpr double least_looks = 5.0;
    if (looks < least_looks)
        return;
    const statistics::BetaShape shape{missing + 0.5, looks - missing + 0.5};
    singles_found_ = Chance{statistics::beta_quantile(0.025, shape),
                            statistics::beta_quantile(0.975, shape), shape.a / (shape.a + shape.b)};
}

} // namespace dropledger::field
