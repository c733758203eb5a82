// Gaps: runs of consecutive commanded drops of one pass and row for which the sensor saw nothing.
//
// A single silent drop is a gap of one. A drop index that the table does not hold ends a gap: what
// happened there is not known.
// Length: the bare ground, from the last drop before the gap to the first one after it, straight;
// where the gap begins or ends the pass (or touches an index the table does not hold) it is
// measured to the gap's own first or last drop.
// Units: metres.
#pragma once

#include "analysis/field/input/drops.hpp"

#include <cstdint>
#include <optional>
#include <vector>

namespace dropledger::field {

enum class Judgement { missing, sensor, unknown };
[[nodiscard]] std::string_view name_of(Judgement judgement);

// Between what bounds the probability lies that seed is really missing, and the best estimate where
// there is one.
struct Chance {
    double low = 0.0;
    double high = 1.0;
    std::optional<double> best{};
};
// missing from 0.9 up, sensor from 0.1 down, else unknown; by the best estimate, where there is
// none by both bounds.
[[nodiscard]] Judgement judged(const Chance& chance);
// The probability to state: empty where there is no estimate and its bounds leave the judgement
// open.
[[nodiscard]] std::optional<double> stated(const Chance& chance);

struct Gap {
    LineKey key;
    std::size_t begin = 0; // places in the line's drops, end excluded
    std::size_t end = 0;
    std::int64_t first_drop = 0;
    std::int64_t last_drop = 0;
    std::int64_t seeds = 0;  // commanded in it
    std::int64_t alerts = 0; // that belong to it (alerts.hpp)
    double length_m = 0.0;
    double time_s = 0.0; // of the first drop
    Place from;
    Place to;
    bool at_pass_end = false;      // no drop of this pass lies beyond it
    std::int64_t first_silent = 0; // its first drop among the silent ones of its line
    Chance missing;
    std::int32_t look = -1; // that settles it (looks.hpp); -1: one at its own place only

    [[nodiscard]] std::int64_t drops() const { return static_cast<std::int64_t>(end - begin); }
};

// Of one line, in order.
[[nodiscard]] std::vector<Gap> find_gaps(const Field& field, const LineKey& key,
                                         const std::vector<FieldDrop>& line);

} // namespace dropledger::field
