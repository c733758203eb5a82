#include "analysis/field/route.hpp"

#include "analysis/field/input/ground.hpp"

#include <algorithm>
#include <limits>

namespace dropledger::field {

namespace {

class Route {
public:
    Route(const std::vector<Gap>& gaps, const std::vector<std::size_t>& stops, bool geographic)
        : geographic_(geographic) {
        for (const std::size_t stop : stops) {
            const Gap& gap = gaps[stop];
            middles_.push_back({(gap.from.x + gap.to.x) / 2.0, (gap.from.y + gap.to.y) / 2.0});
        }
        for (std::size_t i = 0; i < stops.size(); ++i)
            order_.push_back(i);
    }

    [[nodiscard]] double length() const {
        double sum = 0.0;
        for (std::size_t i = 1; i < order_.size(); ++i)
            sum += way(i - 1, i);
        return sum;
    }

    void nearest_next() {
        for (std::size_t i = 1; i < order_.size(); ++i) {
            std::size_t best = i;
            double least = std::numeric_limits<double>::max();
            for (std::size_t j = i; j < order_.size(); ++j)
                if (const double one = way(i - 1, j); one < least) {
                    least = one;
                    best = j;
                }
            std::swap(order_[i], order_[best]);
        }
    }

    // Each round tries to turn round every stretch; an open way, so its last one too.
    void uncross() {
        constexpr int most_rounds = 40;
        bool better = true;
        for (int round = 0; round < most_rounds && better; ++round) {
            better = false;
            for (std::size_t i = 0; i + 1 < order_.size(); ++i)
                for (std::size_t j = i + 1; j < order_.size(); ++j)
                    if (saved_m(i, j) > 1e-6) {
                        std::reverse(order_.begin() + static_cast<std::ptrdiff_t>(i),
                                     order_.begin() + static_cast<std::ptrdiff_t>(j) + 1);
                        better = true;
                    }
        }
    }

    [[nodiscard]] const std::vector<std::size_t>& order() const { return order_; }

private:
    // By walking the stops i … j the other way round.
    [[nodiscard]] double saved_m(std::size_t i, std::size_t j) const {
        const bool is_last = j + 1 >= order_.size();
        const double before = (i > 0 ? way(i - 1, i) : 0.0) + (is_last ? 0.0 : way(j, j + 1));
        const double after = (i > 0 ? way(i - 1, j) : 0.0) + (is_last ? 0.0 : way(i, j + 1));
        return before - after;
    }

    [[nodiscard]] double way(std::size_t i, std::size_t j) const {
        return flat_distance_m(middles_[order_[i]], middles_[order_[j]], geographic_);
    }

    bool geographic_;
    std::vector<Place> middles_;
    std::vector<std::size_t> order_;
};

} // namespace

Walk walk_to(const std::vector<Gap>& gaps, std::vector<std::size_t> stops, bool geographic) {
    constexpr std::size_t most_uncrossed = 800;  // grows with the square, many times over
    constexpr std::size_t most_nearest = 20'000; // grows with the square
    Route route(gaps, stops, geographic);
    Walk walk;
    walk.way_in_list_order_m = route.length();
    if (stops.size() <= most_nearest)
        route.nearest_next();
    if (stops.size() <= most_uncrossed)
        route.uncross();
    walk.way_m = route.length();
    for (const std::size_t i : route.order())
        walk.stops.push_back(stops[i]);
    return walk;
}

} // namespace dropledger::field
