#include "analysis/field/judge/stuck.hpp"

#include "analysis/statistics/basics/distributions.hpp"

#include <algorithm>
#include <cmath>

namespace dropledger::field {

namespace {

// Goes along the night; what stands apart or lies in an episode is passed over.
class Stretches {
public:
    void seen(const PassCourse& pass, std::size_t at) {
        was_silent_ = false;
        ++drops_;
        if (now_.drops++ == 0) {
            now_.from = pass.key;
            now_.first_drop = pass.first_drop + pass.drop[at];
        }
        now_.to = pass.key;
        now_.last_drop = pass.first_drop + pass.drop[at];
        if (now_.drops > longest_.drops)
            longest_ = now_;
    }

    void silent() {
        ++drops_;
        onsets_ += was_silent_ ? 0 : 1;
        was_silent_ = true;
        now_ = {};
    }

    void broken() { now_ = {}; }

    [[nodiscard]] std::optional<Stuck> found() const {
        constexpr std::int64_t least_onsets = 10;
        constexpr std::int64_t least_drops = 1'000;
        constexpr double beyond_chance = 1e-9;
        if (onsets_ < least_onsets || longest_.drops < least_drops)
            return std::nullopt;
        Stuck stuck = longest_;
        const auto k = static_cast<double>(onsets_);
        const double part = static_cast<double>(stuck.drops) / static_cast<double>(drops_);
        stuck.p_value = std::min(1.0, (k + 1.0) * std::exp(k * std::log1p(-part)));
        stuck.usual_share = k / static_cast<double>(drops_ - stuck.drops);
        return stuck.p_value < beyond_chance ? std::optional(stuck) : std::nullopt;
    }

private:
    std::int64_t drops_ = 0;
    std::int64_t onsets_ = 0;
    bool was_silent_ = false;
    Stuck now_;
    Stuck longest_;
};

bool lies_in(const std::vector<Episode>& episodes, const Spot& spot) {
    return std::any_of(episodes.begin(), episodes.end(),
                       [&](const Episode& one) { return one.holds(spot); });
}

} // namespace

std::optional<Stuck> stuck_for_a_while(const Course& course, const std::vector<Episode>& episodes) {
    Stretches stretches;
    for (std::size_t p = 0; p < course.passes.size(); ++p) {
        const PassCourse& pass = course.passes[p];
        for (std::size_t i = 0; i < pass.size(); ++i) {
            const bool silent = pass.silent[i] != 0;
            if (lies_in(episodes, {p, i}) || (silent && pass.apart_at(i) != Apart::no))
                stretches.broken();
            else if (silent)
                stretches.silent();
            else
                stretches.seen(pass, i);
        }
    }
    return stretches.found();
}

std::optional<Stuck> stuck_all_night(const Background& row, double others) {
    constexpr double most_of_others = 0.01;
    constexpr double times = 10.0;
    constexpr double level = 0.01;
    const double share = std::min(others, most_of_others) / times;
    const auto drops = std::llround(row.drops);
    if (drops < 1 || share <= 0.0)
        return std::nullopt;
    const double p = statistics::binomial_cdf(std::llround(row.silent), {drops, share});
    if (p >= level)
        return std::nullopt;
    Stuck stuck;
    stuck.drops = drops;
    stuck.whole_night = true;
    stuck.usual_share = others;
    stuck.p_value = p;
    return stuck;
}

} // namespace dropledger::field
