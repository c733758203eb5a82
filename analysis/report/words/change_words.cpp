#include "analysis/report/words/change_words.hpp"

#include "analysis/report/words/wording.hpp"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <array>
#include <string_view>
#include <utility>

namespace dropledger::report {

namespace {

using measures::Quantity;
using statistics::Estimate;

constexpr const char* none_shown = "no difference that these runs can show";

std::string found(const std::optional<Estimate>& estimate, Unit unit) {
    if (!estimate)
        return "not defined";
    const std::string interval = interval_words(*estimate, unit);
    return value_words(*estimate, unit) + (interval.empty() ? "" : " (" + interval + ")");
}

std::string difference_unit(Unit unit) {
    return unit == Unit::percent ? "points" : std::string(symbol_of(unit));
}

// With enough digits that no end of the interval looks like 0.
int digits(const Estimate& difference, Unit unit) {
    return decimals_against(difference, 0.0, unit);
}

std::string difference_words(const Estimate& difference, Unit unit) {
    const int decimals = digits(difference, unit);
    return fmt::format("{} ({} to {}) {}", number(difference.value, unit, decimals),
                       number(difference.interval->low, unit, decimals),
                       number(difference.interval->high, unit, decimals), difference_unit(unit));
}

std::string_view side_words(Quantity quantity, bool more, int direction) {
    if (quantity == Quantity::bias_mm)
        return more == (direction >= 0) ? "later" : "earlier";
    return more ? "higher" : "lower";
}

std::string change(const audit::ComparedQuantity& one, const Estimate& difference, int direction) {
    const Unit unit = unit_of(one.what.quantity);
    const statistics::Interval& interval = *difference.interval;
    const bool more = interval.low > 0.0;
    const double least = more ? interval.low : -interval.high;
    const double most = more ? interval.high : -interval.low;
    const int decimals = digits(difference, unit);
    return fmt::format("{} by {} to {} {}", side_words(one.what.quantity, more, direction),
                       number(least, unit, decimals), number(most, unit, decimals),
                       difference_unit(unit));
}

// In a mechanic's words; the others as they are called everywhere.
constexpr std::array<std::pair<Quantity, std::string_view>, 7> names_of_changes{
    {{Quantity::miss_share, "misses per drop"},
     {Quantity::miss_index, "misses per drop"},
     {Quantity::multiple_share, "multiples per drop"},
     {Quantity::multiples_index, "multiples per drop"},
     {Quantity::bias_mm, "offset (mean)"},
     {Quantity::sd_mm, "scatter of places (sd)"},
     {Quantity::precision, "scatter of spacings (cv)"}}};

std::string_view name_of_change(Quantity quantity) {
    for (const auto& [one, name] : names_of_changes)
        if (one == quantity)
            return name;
    return words_of(quantity);
}

std::string what(const measures::Reported& what) {
    return std::string(name_of_change(what.quantity)) +
           (what.aspect == measures::Aspect::corrected ? ", corrected" : "");
}

ChangeRow row_of(const audit::ComparedQuantity& one, int direction) {
    const Unit unit = unit_of(one.what.quantity);
    ChangeRow row{.what = what(one.what),
                  .before = found(one.before, unit),
                  .after = found(one.after, unit),
                  .difference = "",
                  .words = one.why_not,
                  .differs = one.differs()};
    if (!one.difference)
        return row;
    Estimate difference;
    difference.value = one.after->value - one.before->value;
    difference.interval = one.difference;
    row.difference = difference_words(difference, unit);
    row.words = one.differs() ? change(one, difference, direction) : none_shown;
    return row;
}

std::string lead_words(const std::optional<std::int64_t>& lead_us) {
    return lead_us ? trimmed_number(static_cast<double>(*lead_us) / 1000.0) + " ms"
                   : std::string("not stated");
}

std::string or_not_stated(const std::string& text) {
    return text.empty() ? "not stated" : text;
}

std::string when(const audit::ComparedRun& run) {
    return run.started_here.empty() ? run.started : run.started_here;
}

} // namespace

std::vector<ChangeRow> change_rows(const audit::ComparedUnit& unit) {
    std::vector<ChangeRow> rows;
    for (const audit::ComparedQuantity& one : unit.quantities)
        rows.push_back(row_of(one, unit.direction));
    return rows;
}

std::vector<std::string> setting_sentences(const audit::ComparedUnit& unit) {
    std::vector<std::string> sentences;
    if (unit.lead_before_us == unit.lead_after_us)
        sentences.push_back(fmt::format("Lead {} in both runs.", lead_words(unit.lead_after_us)));
    else
        sentences.push_back(fmt::format("Lead {}, and was {}.", lead_words(unit.lead_after_us),
                                        lead_words(unit.lead_before_us)));
    for (const audit::ChangedSetting& one : unit.settings)
        if (one.key != "lead_us")
            sentences.push_back(fmt::format("{} {}, and was {}.", one.key, or_not_stated(one.after),
                                            or_not_stated(one.before)));
    return sentences;
}

std::string change_headline(const audit::ComparedUnit& unit) {
    if (!unit.why_not.empty())
        return unit.why_not;
    std::vector<std::string> changes;
    bool any = false;
    for (const ChangeRow& row : change_rows(unit)) {
        any = any || !row.difference.empty();
        if (row.differs)
            changes.push_back(row.what + " " + row.words);
    }
    if (!any)
        return "nothing of it can be compared";
    return changes.empty() ? none_shown : fmt::format("{}", fmt::join(changes, "; "));
}

std::string unit_heading(const audit::ComparedUnit& unit) {
    return unit.unit + (unit.row ? fmt::format(", row {}", *unit.row) : std::string{});
}

std::string outcome_change(const audit::ComparedUnit& unit) {
    return fmt::format("{} before, {} after", name_of(unit.before), name_of(unit.after));
}

std::vector<const audit::ComparedUnit*> differing_first(const audit::BeforeAfter& compared) {
    std::vector<const audit::ComparedUnit*> units;
    for (const audit::ComparedUnit& unit : compared.units)
        units.push_back(&unit);
    const auto place = [](const audit::ComparedUnit* unit) {
        const bool differs = std::any_of(unit->quantities.begin(), unit->quantities.end(),
                                         [](const auto& one) { return one.differs(); });
        return differs ? 0 : unit->why_not.empty() ? 2 : 1;
    };
    std::stable_sort(units.begin(), units.end(),
                     [&](const auto* a, const auto* b) { return place(a) < place(b); });
    return units;
}

std::vector<std::string> runs_compared(const audit::BeforeAfter& compared) {
    return {fmt::format("Before: {}, {}", compared.before.file, when(compared.before)),
            fmt::format("After: {}, {}", compared.after.file, when(compared.after))};
}

std::string how_compared(const audit::BeforeAfter& compared) {
    return fmt::format(
        "A difference is after less before, with an interval from those of both runs; one is "
        "called "
        "so only where the whole interval lies on one side of 0. All intervals hold together at "
        "{}: "
        "they allow for {}, because the units of a retest may have been picked by their result, "
        "but not for picking one of several earlier runs.",
        percent_words(compared.confidence), counted(compared.comparisons, "comparison"));
}

std::vector<std::string> change_cautions(const audit::BeforeAfter& compared) {
    std::vector<std::string> all = compared.cautions;
    if (!compared.not_in_both.empty())
        all.push_back(fmt::format("In one of the runs only, or twice in one: {}.",
                                  fmt::join(compared.not_in_both, ", ")));
    return all;
}

} // namespace dropledger::report
