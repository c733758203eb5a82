#include "analysis/field/input/places.hpp"

#include "analysis/field/input/ground.hpp"

#include <algorithm>
#include <cmath>

namespace dropledger::field {

namespace {

using Drops = std::vector<FieldDrop>;

double step_between(const FieldDrop& a, const FieldDrop& b, bool geographic) {
    return flat_distance_m(a.at, b.at, geographic) /
           static_cast<double>(std::max<std::int64_t>(1, std::abs(b.drop - a.drop)));
}

double usual_step(const Drops& drops, bool geographic) {
    std::vector<double> steps;
    for (std::size_t i = 1; i < drops.size(); ++i)
        if (drops[i].has_place && drops[i - 1].has_place)
            steps.push_back(step_between(drops[i - 1], drops[i], geographic));
    if (steps.empty())
        return 0.0;
    const auto middle = steps.begin() + static_cast<std::ptrdiff_t>(steps.size() / 2);
    std::nth_element(steps.begin(), middle, steps.end());
    return *middle;
}

// Whether a machine may have driven from one to the other.
class Near {
public:
    Near(const Drops& drops, bool geographic)
        : geographic_(geographic), step_m_(usual_step(drops, geographic)) {}

    [[nodiscard]] bool operator()(const FieldDrop& a, const FieldDrop& b) const {
        constexpr double least_jump_m = 5.0;
        constexpr double most_steps = 30.0;
        return flat_distance_m(a.at, b.at, geographic_) <=
               std::max(least_jump_m,
                        most_steps * step_m_ * static_cast<double>(std::abs(b.drop - a.drop)));
    }

private:
    bool geographic_;
    double step_m_;
};

// Marks places that stand apart from those before and behind them, which agree with each other.
void drop_jumps_within(Drops& drops, const Near& near) {
    constexpr std::size_t looked_ahead = 300;
    const FieldDrop* good = nullptr;
    for (std::size_t i = 0; i < drops.size(); ++i) {
        if (!drops[i].has_place)
            continue;
        if (good != nullptr && !near(*good, drops[i])) {
            std::size_t back = i + 1;
            const std::size_t end = std::min(drops.size(), i + looked_ahead);
            while (back < end && !(drops[back].has_place && near(*good, drops[back])))
                ++back;
            for (; back < end && i < back; ++i)
                drops[i].has_place = false;
        }
        good = &drops[std::min(i, drops.size() - 1)];
    }
}

// A few places at the line's beginning (or, read backwards, its end) that the next does not follow.
template <class Iterator> void drop_jumps_at(Iterator begin, Iterator end, const Near& near) {
    constexpr int few = 5;
    const auto placed = [](const FieldDrop& drop) { return drop.has_place; };
    for (int i = 0; i < few; ++i) {
        const auto first = std::find_if(begin, end, placed);
        const auto second = first == end ? end : std::find_if(std::next(first), end, placed);
        if (second == end || near(*first, *second))
            return;
        first->has_place = false;
    }
}

// Drops without a place get one between, or in line with, the nearest that have one.
void fill_places(Drops& drops) {
    std::vector<std::size_t> good;
    for (std::size_t i = 0; i < drops.size(); ++i)
        if (drops[i].has_place)
            good.push_back(i);
    std::size_t behind = 1; // good[behind - 1] and good[behind] frame the drop
    for (std::size_t i = 0; i < drops.size(); ++i) {
        if (drops[i].has_place)
            continue;
        while (behind + 1 < good.size() && good[behind] < i)
            ++behind;
        drops[i].at = place_between(drops[good[behind - 1]], drops[good[behind]], drops[i].drop);
    }
}

} // namespace

Place place_between(const FieldDrop& a, const FieldDrop& b, std::int64_t drop) {
    const double part = b.drop == a.drop ? 0.0
                                         : static_cast<double>(drop - a.drop) /
                                               static_cast<double>(b.drop - a.drop);
    return {a.at.x + part * (b.at.x - a.at.x), a.at.y + part * (b.at.y - a.at.y)};
}

Mended mend_places(std::vector<FieldDrop>& drops, bool geographic) {
    const Near near(drops, geographic);
    drop_jumps_at(drops.begin(), drops.end(), near);
    drop_jumps_at(drops.rbegin(), drops.rend(), near);
    drop_jumps_within(drops, near);
    const auto lacking = std::count_if(drops.begin(), drops.end(),
                                       [](const FieldDrop& drop) { return !drop.has_place; });
    if (lacking == 0)
        return {};
    if (lacking + 2 > static_cast<std::ptrdiff_t>(drops.size()))
        return {lacking, true};
    fill_places(drops);
    for (FieldDrop& drop : drops)
        drop.has_place = true;
    return {lacking, false};
}

} // namespace dropledger::field
