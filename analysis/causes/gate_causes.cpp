// What becomes of a gate along the run: of a channel's own watch, beside that of its other gate.
#include "analysis/causes/cause_watch.hpp"

#include "analysis/statistics/basics/distributions.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace dropledger::causes {

namespace {

constexpr double least_shallowing = 0.1;
constexpr double blind_looks = 4.0; // two gates, by misses and by depth

// One-sided exact test that `b` misses more than `a` does.
double more_than(const Misses& a, const Misses& b) {
    const auto count = std::llround(b.count);
    return count < 1 ? 1.0
                     : statistics::hypergeometric_sf(
                           count - 1, {.lot = a.drops + b.drops,
                                       .nonconforming = std::llround(a.count) + count,
                                       .sample = b.drops});
}

double ratio(double part, double whole) {
    return whole > 0.0 ? part / whole : 0.0;
}

// Along the whole run, or to another level: a beam that gets dirty may stay as it is then.
std::optional<Trend> change_of(const BlockSeries& along) {
    constexpr double clearly = CauseWatch::level / blind_looks;
    const auto trend = along.trend();
    if (!trend || trend->p_value <= clearly)
        return trend;
    const auto step = along.step();
    return step && step->p_value <= clearly ? step : trend;
}

} // namespace

// Misses behind the run's first quarter, without the drops of an empty container, which is no
// gate's fault.
Misses CauseWatch::late_misses(std::int64_t empty_drops) const {
    const Parts parts = misses_along_.hits().parts();
    const std::int64_t drops = std::max<std::int64_t>(0, parts.rest_count - empty_drops);
    return {
        std::clamp(parts.rest - static_cast<double>(empty_drops), 0.0, static_cast<double>(drops)),
        drops};
}

std::optional<Cause> CauseWatch::more_misses_than(const CauseWatch& other) const {
    const std::int64_t empty_drops = std::min(empty_end().drops, other.empty_end().drops);
    const Parts parts = misses_along_.hits().parts();
    const Parts theirs = other.misses_along_.hits().parts();
    const Misses early{parts.first, parts.first_count};
    const Misses late = late_misses(empty_drops);
    const Misses late_theirs = other.late_misses(empty_drops);
    // More than before, and more than the other gate at the same drops: both must hold.
    const double p = std::max(more_than(early, late), more_than(late_theirs, late));
    if (p > level / blind_looks || late.count < 1.5 * late_theirs.count)
        return std::nullopt;
    const auto share = [](const Misses& misses) {
        return 100.0 * ratio(misses.count, static_cast<double>(misses.drops));
    };
    return Cause{
        .kind = CauseKind::gate_going_blind,
        .p_value = blind_looks * p,
        .evidence = fmt::format(
            "gate {} misses {:.1f} % in the first quarter and {:.1f} % behind it, gate {} {:.1f} % "
            "and {:.1f} %",
            settings_.gate, share(early), share(late), other.settings_.gate,
            share({theirs.first, theirs.first_count}), share(late_theirs)),
        .look_at = {},
        .drops = {}};
}

std::optional<Cause> CauseWatch::shallower_than(const CauseWatch& other) const {
    const auto mine = change_of(depths_milli_);
    const auto theirs = other.depths_milli_.trend();
    if (!mine || !theirs || mine->from <= 0.0 || theirs->from <= 0.0)
        return std::nullopt;
    const double change = mine->change / mine->from;
    const double theirs_change = theirs->change / theirs->from;
    const double error = std::hypot(mine->error / mine->from, theirs->error / theirs->from);
    if (change > -least_shallowing || error <= 0.0)
        return std::nullopt;
    // Seeds that grow smaller dim both gates alike: it must fall, and fall more than the other's.
    const double p =
        std::max(mine->p_value, statistics::normal_sf((theirs_change - change) / error));
    if (p > level / blind_looks || theirs_change < 0.5 * change)
        return std::nullopt;
    return Cause{
        .kind = CauseKind::gate_going_blind,
        .p_value = blind_looks * p,
        .evidence = fmt::format(
            "gate {}'s pulses change in depth by {:+.0f} % along the run, gate {}'s by {:+.0f} %",
            settings_.gate, 100.0 * change, other.settings_.gate, 100.0 * theirs_change),
        .look_at = {},
        .drops = {}};
}

void CauseWatch::find_blind_gate(const CauseWatch& other, std::vector<Cause>& found) const {
    auto misses = more_misses_than(other);
    const auto depth = shallower_than(other);
    if (!misses && !depth)
        return;
    Cause cause = misses ? *misses : *depth;
    if (misses && depth) {
        cause.p_value = std::min(cause.p_value, depth->p_value);
        cause.evidence += "; " + depth->evidence;
    }
    cause.look_at = fmt::format("dust on gate {}'s windows; its alignment and supply{}",
                                settings_.gate, misses ? ". The seed is there" : "");
    found.push_back(std::move(cause));
}

// Of the pulses' depth, relative; nothing where the other gate keeps its own.
std::optional<double> CauseWatch::dimming(const CauseWatch* other) const {
    const auto mine = change_of(depths_milli_);
    if (!mine || mine->from <= 0.0 || mine->p_value > level / blind_looks)
        return std::nullopt;
    const double change = mine->change / mine->from;
    if (change > -least_shallowing)
        return std::nullopt;
    const auto theirs = other == nullptr ? std::nullopt : other->depths_milli_.trend();
    if (theirs && theirs->from > 0.0 && theirs->change / theirs->from > 0.5 * change)
        return std::nullopt;
    return change;
}

void CauseWatch::find_dim_gate(const AlongTheRun& along, std::vector<Cause>& found) const {
    constexpr double likely = 0.05; // beside pulses that grow shallower at a much stricter level
    const auto& misses = along.misses;
    if (!along.dimming || !misses || !misses->rises() || misses->p_value > likely)
        return;
    found.push_back(
        {.kind = CauseKind::gate_going_blind,
         .p_value = misses->p_value,
         .evidence = fmt::format("gate {}'s pulses change in depth by {:+.0f} % along the run, and "
                                 "misses rise from {:.1f} to {:.1f} %",
                                 settings_.gate, 100.0 * *along.dimming,
                                 100.0 * ShareCourse::share_of(misses->first),
                                 100.0 * ShareCourse::share_of(misses->last)),
         .look_at = fmt::format("dust on gate {}'s windows; its alignment and supply; then the "
                                "meter: no other gate tells which of them misses",
                                settings_.gate),
         .drops = {}});
}

AlongTheRun CauseWatch::along_the_run(const CauseWatch* other) const {
    return {.misses = misses_along_.course(),
            .multiples =
                settings_.mode == ledger::Mode::single ? multiples_along_.course() : std::nullopt,
            .misses_at_first = misses_along_.before(1),
            .dimming = dimming(other)};
}

} // namespace dropledger::causes
