#include "bench/book/trend.hpp"

#include "analysis/measures/number_words.hpp"
#include "analysis/report/words/plain.hpp"
#include "analysis/report/words/sentences.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <utility>

namespace dropledger::book {

using measures::Aspect;
using measures::Reported;

namespace {

std::string why_left_out(const Run& run) {
    if (!run.complete)
        return "it is incomplete";
    return run.seals_intact ? std::string{} : "its seals are broken";
}

// The interval of what is limited against the limit.
verdict::Outcome by_tolerance(const Quantity& found, const verdict::Limit& limit) {
    using verdict::Outcome;
    if (!found.low || !found.high)
        return Outcome::undecided;
    if (limit.sense() == verdict::Sense::at_least) {
        if (*found.low >= limit.value)
            return Outcome::within;
        return *found.high < limit.value ? Outcome::outside : Outcome::undecided;
    }
    const bool both_ways = limit.sense() == verdict::Sense::magnitude_at_most;
    const double farthest = both_ways ? std::max(-*found.low, *found.high) : *found.high;
    const double nearest = both_ways ? std::max(*found.low, -*found.high) : *found.low;
    if (farthest <= limit.value)
        return Outcome::within;
    return nearest > limit.value ? Outcome::outside : Outcome::undecided;
}

void take_run(const Run& run, Trend& out) {
    const std::string key = key_of(out.what);
    for (const Verdict& verdict : run.verdicts) {
        const Quantity* const found = find_quantity(verdict, key);
        if (found == nullptr)
            continue;
        if (const std::string why = why_left_out(run); !why.empty()) {
            out.left_out.push_back(fmt::format("{} of {}: {}.", run.file, run.started, why));
            continue;
        }
        out.points.push_back(
            {run.run_id, run.file, run.started, run.calibration, *found,
             out.limit ? std::optional{by_tolerance(*found, *out.limit)} : std::nullopt});
    }
}

std::size_t first_after(const std::vector<TrendPoint>& points, const std::string& time) {
    const auto at = std::find_if(points.begin(), points.end(),
                                 [&](const TrendPoint& point) { return point.started >= time; });
    return static_cast<std::size_t>(at - points.begin());
}

// What is worth telling: a quarter of the tolerance, 0 without one.
double least_change(const Trend& trend) {
    return trend.limit ? std::abs(trend.limit->value) / 4.0 : 0.0;
}

double mean_of(const Trend& trend, std::size_t first, std::size_t last) {
    double sum = 0.0;
    for (std::size_t i = first; i <= last; ++i)
        sum += trend.points[i].quantity.value;
    return sum / static_cast<double>(last - first + 1);
}

// The stretch between two repairs that holds the point.
std::pair<std::size_t, std::size_t> stretch_of(const Trend& trend, std::size_t point) {
    std::size_t first = 0;
    std::size_t end = trend.points.size();
    for (const Repair& repair : trend.repairs) {
        if (repair.before <= point)
            first = std::max(first, repair.before);
        else
            end = std::min(end, repair.before);
    }
    return {first, end - 1};
}

void leave_out_small_signals(Trend& out) {
    std::erase_if(out.chart->signals, [&](const statistics::ControlSignal& signal) {
        const auto [first, last] = stretch_of(out, signal.first);
        const double level = mean_of(out, first, last);
        double farthest = 0.0;
        for (std::size_t i = signal.first; i <= signal.last; ++i)
            farthest = std::max(farthest, std::abs(out.points[i].quantity.value - level));
        return farthest < least_change(out);
    });
}

// Of a magnitude that is limited: how far off its place.
Quantity limited_part(const Trend& trend, Quantity found) {
    if (!trend.limit || trend.limit->sense() != verdict::Sense::magnitude_at_most)
        return found;
    if (found.low && found.high) {
        const bool holds_zero = *found.low <= 0.0 && *found.high >= 0.0;
        const auto [low, high] = std::minmax({std::abs(*found.low), std::abs(*found.high)});
        found.low = holds_zero ? 0.0 : low;
        found.high = high;
    }
    found.value = std::abs(found.value);
    return found;
}

enum class Shift { none, up, down };

// From the run before to the run `at`.
Shift shift_at(const Trend& trend, std::size_t at) {
    const Quantity before = limited_part(trend, trend.points[at - 1].quantity);
    const Quantity after = limited_part(trend, trend.points[at].quantity);
    if (!before.low || !before.high || !after.low || !after.high ||
        std::abs(after.value - before.value) < least_change(trend))
        return Shift::none;
    if (*after.low > *before.high)
        return Shift::up;
    return *after.high < *before.low ? Shift::down : Shift::none;
}

std::optional<std::size_t> last_change(const Trend& trend) {
    for (std::size_t at = trend.points.size(); at-- > 1;)
        if (shift_at(trend, at) != Shift::none)
            return at;
    return std::nullopt;
}

// "fewer misses", "a larger offset".
std::string shifted(const Trend& trend, Shift shift) {
    const measures::Quantity quantity = trend.what.quantity;
    const bool up = shift == Shift::up;
    const std::string name = report::plain_name(quantity);
    if (quantity == measures::Quantity::offset_mm || quantity == measures::Quantity::bias_mm)
        return fmt::format("{} {}", up ? "a larger" : "a smaller", name);
    const std::string_view counted_ones = std::string_view(name).substr(0, name.find(" per "));
    if (unit_of(quantity) == measures::Unit::percent && counted_ones.ends_with("s"))
        return fmt::format("{} {}", up ? "more" : "fewer", name);
    return fmt::format("{} {}", up ? "a higher" : "a lower", name);
}

std::string change_words(const Trend& trend) {
    if (trend.points.size() < 2)
        return trend.points.empty() ? "No run to go by" : "One run: no change can be told yet";
    if (!trend.changed_at)
        return trend.chart && !trend.chart->signals.empty()
                   ? "No step between two runs, but the usual range is left (signals below)"
                   : "No change worth telling over " + counted(trend.points.size(), "run");
    const std::size_t at = *trend.changed_at;
    std::string text = report::capitalised(shifted(trend, shift_at(trend, at))) +
                       fmt::format(" since run {}", at + 1);
    for (const Repair& repair : trend.repairs)
        if (repair.before == at)
            text += fmt::format(", after \"{}\"", repair.text);
    return text;
}

// Since when the last standing by the tolerance holds.
std::string standing_words(const Trend& trend) {
    if (trend.points.empty() || !trend.points.back().outcome)
        return "";
    const verdict::Outcome last = *trend.points.back().outcome;
    std::size_t since = trend.points.size() - 1;
    while (since > 0 && trend.points[since - 1].outcome == last)
        --since;
    const std::string which = since == 0 && trend.points.size() > 1
                                  ? std::string("in all runs")
                                  : fmt::format("since run {}", since + 1);
    switch (last) {
    case verdict::Outcome::within:
        return "within tolerance " + which;
    case verdict::Outcome::outside:
        return "outside tolerance " + which;
    case verdict::Outcome::undecided:
        return "not decided by its limit " + which;
    }
    throw BrokenInvariant("an outcome without a standing");
}

} // namespace

const Quantity* find_quantity(const Verdict& verdict, std::string_view key) {
    for (const Quantity& one : verdict.quantities)
        if (one.key == key && one.group != "per_spacing")
            return &one;
    return nullptr;
}

Trend trend(const std::vector<Run>& runs, const Reported& what, const TrendOf& of) {
    Trend out;
    out.what = what;
    if (!runs.empty() && of.limit_of)
        out.limit = of.limit_of(runs.back(), what.quantity);
    for (const Run& run : runs)
        take_run(run, out);
    for (const Note& note : of.notes)
        if (note.kind == NoteKind::repair && note.about == of.unit)
            out.repairs.push_back({note.time, note.text, first_after(out.points, note.time)});
    std::vector<double> values;
    for (const TrendPoint& point : out.points)
        values.push_back(point.quantity.value);
    std::vector<std::size_t> starts;
    for (const Repair& repair : out.repairs)
        starts.push_back(repair.before);
    out.chart =
        statistics::chart_by_stretches(values, starts, measures::row_of(what.quantity).range);
    if (out.chart)
        leave_out_small_signals(out);
    out.changed_at = last_change(out);
    return out;
}

std::string headline(const Trend& trend) {
    std::string text = change_words(trend);
    if (const std::string standing = standing_words(trend); !standing.empty())
        text += "; " + standing;
    return text + ".";
}

std::vector<Reported> usual_quantities(const std::vector<Run>& runs) {
    using Q = measures::Quantity;
    const Reported miss_index{Q::miss_index};
    const Reported corrected_miss{Q::miss_index, Aspect::corrected};
    const Reported offset{Q::offset_mm};
    const auto mode = runs.empty() ? std::nullopt : std::optional{runs.back().mode};
    if (mode == droplog::Mode::line)
        return {{Q::rate_error}, {Q::cv}};
    if (mode == droplog::Mode::portion)
        return {{Q::exact_share}, offset};
    const bool corrected = std::any_of(runs.begin(), runs.end(), [&](const Run& run) {
        return std::any_of(run.verdicts.begin(), run.verdicts.end(), [&](const Verdict& one) {
            return find_quantity(one, key_of(corrected_miss)) != nullptr;
        });
    });
    return corrected ? std::vector{miss_index, corrected_miss, offset}
                     : std::vector{miss_index, offset};
}

} // namespace dropledger::book
