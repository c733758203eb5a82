// What is said of a row beside its probabilities.
#include "analysis/field/judge/row_work.hpp"

#include <fmt/format.h>

#include <algorithm>

namespace dropledger::field {

void RowWork::note_row() {
    const auto note = [&](std::string text) {
        judge_.notes.push_back(fmt::format("Row {}: {}", judge_.row, std::move(text)));
    };
    if (judge_.blocked)
        note("the gate reported itself blocked; silent drops of those passes are not judged.");
    if (!judge_.ever_seen)
        note("the gate saw nothing in the whole table; whether it can see at all is not known.");
    if (judge_.drift.changes)
        note(fmt::format("single silent drops grow from {:.1f} to {:.1f} % of the drops in the "
                         "night{}: no efficiency holds for all of it.",
                         100.0 * judge_.drift.least, 100.0 * judge_.drift.most,
                         judge_.drift.late ? ", at its end" : ""));
    switch (judge_.efficiency_use) {
    case EfficiencyUse::none_stated:
    case EfficiencyUse::holds:
        break;
    case EfficiencyUse::doubted:
        note(fmt::format("{:.1f} % of the drops are silent singly, far more than a gate of the "
                         "stated efficiency ({:.3f}) and an ordinary meter make. Either the meter "
                         "leaves out so much, or the gate no longer sees as stated: the log can't "
                         "tell.",
                         100.0 * judge_.silent_share, judge_.efficiency->value));
        break;
    case EfficiencyUse::too_silent:
        note(fmt::format("the stated efficiency ({:.3f}) is not judged by where the row changes, "
                         "or comes and goes.",
                         judge_.efficiency->value));
        break;
    case EfficiencyUse::too_seeing:
        note(fmt::format("fewer drops are silent ({:.2f} %) than a gate of efficiency {:.3f} "
                         "leaves: it sees better than stated, and the figure is not judged by.",
                         100.0 * judge_.silent_share, judge_.efficiency->value));
        break;
    }
}

// The share of commanded seeds that the gate reported; only of portions, for in single drops it
// says nothing new.
void RowWork::note_portions(const Field& field, const std::vector<LineKey>& lines) {
    if (std::any_of(targets_.begin(), targets_.end(),
                    [](const auto& one) { return one.first < 2; }))
        return;
    double seen = 0.0;
    double commanded = 0.0;
    for (const LineKey& key : lines)
        for (const FieldDrop& drop : field.lines.at(key).drops()) {
            seen += std::min(drop.seen, drop.target);
            commanded += drop.target;
        }
    if (!(commanded > 0.0))
        return;
    judge_.reported_share = seen / commanded;
    if (judge_.efficiency || !judge_.ever_seen || seen <= 0.0)
        return;
    judge_.notes.push_back(fmt::format(
        "Row {}: the gate reported {:.1f} % of the seeds commanded. If it overlooks seeds one by "
        "one it overlooks a whole portion in {:.2g} % of the drops at most, and silent drops "
        "beyond that are missing seed; a gate that goes blind for moments overlooks whole "
        "portions, and the log does not tell the two apart.",
        judge_.row, 100.0 * *judge_.reported_share,
        100.0 * overlooked_share(*judge_.reported_share)));
}

} // namespace dropledger::field
