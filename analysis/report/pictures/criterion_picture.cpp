#include "analysis/report/pictures/criterion_picture.hpp"

#include "analysis/report/pictures/plot.hpp"
#include "analysis/report/words/wording.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace dropledger::report::pictures {

namespace {

using verdict::Sense;

struct Displayed {
    double value = 0.0;
    double low = 0.0;
    double high = 0.0;
    double limit = 0.0;
};

Displayed displayed_of(const verdict::Criterion& criterion, Unit unit) {
    const statistics::Estimate& estimate = *criterion.estimate;
    return {displayed(estimate.value, unit), displayed(estimate.interval->low, unit),
            displayed(estimate.interval->high, unit), displayed(criterion.limit.value, unit)};
}

Scale scale_of(const Displayed& d, const measures::QuantityRow& quantity, Sense sense) {
    if (sense == Sense::magnitude_at_most) {
        const double reach =
            1.15 * std::max({std::abs(d.low), std::abs(d.high), 1.3 * d.limit, 1e-9});
        return {-reach, reach};
    }
    const double top = 1.1 * std::max({d.high, 1.4 * d.limit, 1e-9});
    if (sense == Sense::at_most)
        return {std::min(0.0, d.low), top};
    const double bottom = std::min(d.low, d.limit);
    const auto& [least, most] = quantity.range;
    const double high = most ? displayed(*most, quantity.unit) : top;
    const double low = bottom - 0.4 * (high - bottom);
    return {least ? std::max(displayed(*least, quantity.unit), low) : low, high};
}

void draw_limit(Plot& plot, double at, const std::string& text) {
    const bool right = plot.x().percent(at) > 55.0;
    plot.segment({at, 0, at, 1}, "limit");
    plot.label(
        {.x = at, .y = 1, .dx_px = right ? 4 : -4, .dy_px = -5, .anchor = right ? "end" : "start"},
        text);
}

void draw_forbidden(Plot& plot, const Displayed& d, Sense sense) {
    const Scale& x = plot.x();
    if (sense == Sense::at_least)
        plot.box({x.low, d.limit, 0, 1}, "forbidden");
    else
        plot.box({d.limit, x.high, 0, 1}, "forbidden");
    if (sense == Sense::magnitude_at_most)
        plot.box({x.low, -d.limit, 0, 1}, "forbidden");
}

std::string_view symbol_id(verdict::Outcome outcome) {
    switch (outcome) {
    case verdict::Outcome::within:
        return "mark-within";
    case verdict::Outcome::outside:
        return "mark-outside";
    case verdict::Outcome::undecided:
        return "mark-undecided";
    }
    throw BrokenInvariant("an outcome without a symbol");
}

void draw_interval(Plot& plot, const Displayed& d, verdict::Outcome outcome) {
    plot.segment({d.low, 0.5, d.high, 0.5}, "whisker");
    plot.segment({d.low, 0.32, d.low, 0.68}, "whisker");
    plot.segment({d.high, 0.32, d.high, 0.68}, "whisker");
    plot.symbol({d.value, 0.5}, symbol_id(outcome), verdict::name_of(outcome));
}

} // namespace

std::string criterion_picture(const verdict::Criterion& criterion) {
    if (!criterion.estimate || !criterion.estimate->interval)
        return "";
    const measures::QuantityRow& quantity = measures::row_of(criterion.limit.quantity);
    const Unit unit = quantity.unit;
    const Displayed d = displayed_of(criterion, unit);
    Plot plot(scale_of(d, quantity, criterion.limit.sense()), {0, 1}, 34);
    draw_forbidden(plot, d, criterion.limit.sense());
    plot.segment({plot.x().low, 0, plot.x().high, 0}, "axis");
    const std::vector<Tick> marks = ticks(plot.x(), 6);
    for (const Tick& tick : marks)
        plot.x_tick(tick.value, &tick == &marks.back()
                                    ? fmt::format("{} {}", tick.label, symbol_of(unit))
                                    : tick.label);
    draw_limit(plot, d.limit, "limit");
    if (criterion.limit.sense() == Sense::magnitude_at_most)
        draw_limit(plot, -d.limit, "limit");
    draw_interval(plot, d, criterion.outcome);
    return plot.markup(fmt::format("{}: {}; limit {}; {}", quantity.words, found_words(criterion),
                                   limit_words(criterion.limit),
                                   verdict::name_of(criterion.outcome)),
                       "plot slim");
}

} // namespace dropledger::report::pictures
