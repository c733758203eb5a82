// One quantity of one unit over its runs: its usual range between repairs, its tolerance, and what
// has changed.
//
// Only complete runs with unbroken seals stand in the chart; the others are named. Runs of other
// modes are left out. A repair begins a new usual range.
// A signal counts where the values concerned lie off their usual level by a quarter of the
// tolerance at least: smaller changes matter to nobody. Without a tolerance every signal counts.
// Assumes: runs by start, as the book gives them.
// Undefined when: fewer than two such runs between repairs: no chart. Source of the usual range and
// rules: analysis/statistics/trends/control_chart.hpp (NIST/SEMATECH e-Handbook 6.3.2).
#pragma once

#include "analysis/measures/quantity.hpp"
#include "analysis/statistics/trends/control_chart.hpp"
#include "analysis/verdict/judgement.hpp"
#include "bench/book/entries.hpp"
#include "bench/book/notes.hpp"

#include <functional>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace dropledger::book {

// By its key; what is told of the spacings as measured has its own keys in the audit and is none.
[[nodiscard]] const Quantity* find_quantity(const Verdict& verdict, std::string_view key);

struct TrendPoint {
    std::string run_id;
    std::string file;
    std::string started;
    std::string calibration;
    Quantity quantity;
    std::optional<verdict::Outcome> outcome; // by the tolerance; none without one
};

struct Repair {
    std::string time;
    std::string text;
    std::size_t before = 0; // index of the first point after it; points.size(): none yet
};

struct Trend {
    measures::Reported what;
    std::vector<TrendPoint> points;
    std::vector<std::string> left_out;             // sentences, one a run
    std::optional<verdict::Limit> limit;           // of the last run's profile
    std::vector<Repair> repairs;                   // by time
    std::optional<statistics::ControlChart> chart; // its points are `points`
    // The point from which on values lie wholly apart from those before (intervals that do not
    // touch), by a quarter of the tolerance at least; none where there is no such.
    std::optional<std::size_t> changed_at;
};

using LimitOf = std::function<std::optional<verdict::Limit>(const Run&, measures::Quantity)>;

struct TrendOf {
    std::string unit{};
    std::vector<Note> notes{};
    LimitOf limit_of{};
};

// `runs`: of one unit, with its channels only. The quantity is looked for in every part of the
// audit but the spacings as measured, whose names stand for something else.
[[nodiscard]] Trend trend(const std::vector<Run>& runs, const measures::Reported& what,
                          const TrendOf& of = {});

// "Fewer misses since run 4; within tolerance since run 4."
[[nodiscard]] std::string headline(const Trend& trend);

// The quantities whose trend is shown where nobody names one: of the mode in which the unit ran
// last.
[[nodiscard]] std::vector<measures::Reported> usual_quantities(const std::vector<Run>& runs);

} // namespace dropledger::book
