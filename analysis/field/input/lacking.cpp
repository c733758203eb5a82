#include "analysis/field/input/lacking.hpp"

#include "analysis/field/input/ground.hpp"
#include "analysis/statistics/basics/quantile.hpp"

#include <algorithm>
#include <vector>

namespace dropledger::field {

namespace {

using InOrder = std::span<const FieldDrop>;

std::int64_t lacking_before(InOrder drops, std::size_t at) {
    return drops[at].drop - drops[at - 1].drop - 1;
}

// Later in the night, or further down the table where no time tells: 1; earlier: -1.
int goes_on(const FieldDrop& before, const FieldDrop& drop) {
    if (drop.time_s != before.time_s)
        return drop.time_s > before.time_s ? 1 : -1;
    return drop.line >= before.line ? 1 : -1;
}

// Numbers may grow against the way driven; most steps tell.
int direction_of(InOrder drops) {
    std::int64_t sum = 0;
    for (std::size_t i = 1; i < drops.size(); ++i)
        if (lacking_before(drops, i) == 0)
            sum += goes_on(drops[i - 1], drops[i]);
    return sum < 0 ? -1 : 1;
}

std::optional<double> usual_step_m(InOrder drops, bool geographic) {
    std::vector<double> lengths_m;
    for (std::size_t i = 1; i < drops.size(); ++i)
        if (lacking_before(drops, i) == 0)
            lengths_m.push_back(flat_distance_m(drops[i - 1].at, drops[i].at, geographic));
    return lengths_m.empty() ? std::nullopt
                             : std::optional(statistics::lower_median(std::move(lengths_m)));
}

// By the drops beside it: the machine's spacing may change along the way.
std::optional<double> step_near(InOrder drops, std::size_t hole, bool geographic) {
    constexpr std::size_t near_by = 8;
    const std::size_t first = hole > near_by ? hole - near_by : 1;
    const std::size_t end = std::min(drops.size(), hole + near_by + 1);
    return usual_step_m(drops.subspan(first - 1, end - first + 1), geographic);
}

// Halfway between one step each and the room of all that lack.
double least_room_m(std::int64_t lacking, std::int64_t holes, double step_m) {
    return (static_cast<double>(lacking) + 2.0 * static_cast<double>(holes)) / 2.0 * step_m;
}

} // namespace

Lacking lacking_in(InOrder drops, bool geographic) {
    Lacking found{.step_m = usual_step_m(drops, geographic)};
    const int direction = direction_of(drops);
    for (std::size_t i = 1; i < drops.size(); ++i) {
        const std::int64_t lacking = lacking_before(drops, i);
        if (lacking <= 0 || goes_on(drops[i - 1], drops[i]) != direction)
            continue;
        const double room_m = flat_distance_m(drops[i - 1].at, drops[i].at, geographic);
        if (const auto step_m = step_near(drops, i, geographic)) {
            found.lost += room_m >= least_room_m(lacking, 1, *step_m) ? lacking : 0;
        } else {
            found.open += lacking;
            ++found.open_holes;
            found.open_m += room_m;
        }
    }
    return found;
}

std::int64_t lost_of(const Lacking& lacking, std::optional<double> usual_m) {
    const double least_m = least_room_m(lacking.open, lacking.open_holes, usual_m.value_or(0.0));
    return lacking.lost + (lacking.open_m >= least_m ? lacking.open : 0);
}

} // namespace dropledger::field
