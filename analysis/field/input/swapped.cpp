#include "analysis/field/input/swapped.hpp"

#include "analysis/statistics/basics/quantile.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <optional>
#include <vector>

namespace dropledger::field {

namespace {

using statistics::value_at_share;

struct Vector {
    double x = 0.0;
    double y = 0.0;

    [[nodiscard]] double length() const { return std::hypot(x, y); }
};

// In equal units either way, up to a scale.
Vector between(const Place& a, const Place& b) {
    constexpr double radian = std::numbers::pi / 180.0;
    return {(b.x - a.x) * std::cos(a.y * radian), b.y - a.y};
}

Place swapped(const Place& at) {
    return {at.y, at.x};
}

// What one straight pass of two neighbouring rows shows.
struct Straight {
    double step = 0.0;   // from drop to drop
    double aslant = 0.0; // |cosine| between its way and its neighbour's direction; 0: abeam
};

struct Ends { // of a row in a pass, and the middle of its drops
    Place first;
    Place last;
    Place middle;
    double steps = 1.0;
};

std::optional<Ends> ends_of(const Line& line) {
    constexpr std::size_t least_drops = 30;
    if (line.size() < least_drops)
        return std::nullopt;
    const auto drops = line.drops();
    Ends ends{drops.front().at,
              drops.back().at,
              {},
              static_cast<double>(drops.back().drop - drops.front().drop)};
    for (const FieldDrop& drop : drops) {
        ends.middle.x += drop.at.x / static_cast<double>(drops.size());
        ends.middle.y += drop.at.y / static_cast<double>(drops.size());
    }
    const Vector way = between(ends.first, ends.last);
    const Vector half = between(ends.first, ends.middle);
    const double off = std::abs(way.x * half.y - way.y * half.x) / std::max(1e-12, way.length());
    if (off > 0.01 * way.length()) // bent
        return std::nullopt;
    return ends;
}

template <class Turned> Straight straight_of(const Ends& row, const Ends& next, Turned turned) {
    const Vector way = between(turned(row.first), turned(row.last));
    const Vector abeam = between(turned(row.middle), turned(next.middle));
    const double product = way.length() * abeam.length();
    return {way.length() / row.steps,
            product > 0.0 ? std::abs(way.x * abeam.x + way.y * abeam.y) / product : 0.0};
}

struct Rigid {
    double spread = 0.0; // of the steps
    double aslant = 0.0; // of the most aslant but for one in ten
};

Rigid rigid_of(const std::vector<Straight>& passes) {
    std::vector<double> steps;
    std::vector<double> aslant;
    for (const Straight& one : passes) {
        steps.push_back(one.step);
        aslant.push_back(one.aslant);
    }
    const double middle = value_at_share(steps, Share{0.5});
    return {middle > 0.0
                ? (value_at_share(steps, Share{0.9}) - value_at_share(steps, Share{0.1})) / middle
                : 0.0,
            value_at_share(aslant, Share{0.9})};
}

} // namespace

bool look_swapped(const Field& field) {
    constexpr std::size_t least = 4;
    constexpr std::size_t enough = 400;
    constexpr double breaks = 0.12;
    constexpr double keeps = 0.04;
    if (!field.geographic)
        return false;
    std::vector<Straight> as_is;
    std::vector<Straight> turned;
    for (auto line = field.lines.begin(); line != field.lines.end() && as_is.size() < enough;
         ++line) {
        const auto next = std::next(line);
        if (next == field.lines.end() || next->first.pass != line->first.pass)
            continue;
        const auto row = ends_of(line->second);
        const auto beside = row ? ends_of(next->second) : std::nullopt;
        if (!beside || row->steps != beside->steps)
            continue;
        as_is.push_back(straight_of(*row, *beside, [](const Place& at) { return at; }));
        turned.push_back(straight_of(*row, *beside, swapped));
    }
    if (as_is.size() < least)
        return false;
    const Rigid now = rigid_of(as_is);
    const Rigid then = rigid_of(turned);
    return (now.aslant > breaks && then.aslant < keeps) ||
           (now.spread > breaks && then.spread < keeps && then.aslant < keeps);
}

} // namespace dropledger::field
