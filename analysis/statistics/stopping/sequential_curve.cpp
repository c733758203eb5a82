// Notation: h_accept, h_reject, slope as in sequential.hpp; p1, p2 good and bad level.
#include "analysis/statistics/stopping/sequential_curve.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <cstddef>

namespace dropledger::statistics {

namespace {

constexpr double negligible = 1e-13;
constexpr double most_steps = 4e8; // some seconds

// The chances of all paths that are still running, by their number of hits.
class Walk {
public:
    Walk(const SequentialPlan& plan, double p) : plan_(&plan), p_(p) {}

    struct Ended {
        double accepted = 0.0;
        double rejected = 0.0;
    };

    // One more entry: what ends there.
    Ended step() {
        ++entries_;
        running_.push_back(0.0);
        for (std::size_t i = running_.size() - 1; i > 0; --i)
            running_[i] = running_[i] * (1.0 - p_) + running_[i - 1] * p_;
        running_[0] *= 1.0 - p_;
        Ended ended;
        const std::int64_t accepting = plan_->acceptance_number(entries_).value_or(-1);
        while (!running_.empty() && first_ <= accepting) {
            ended.accepted += running_.front();
            running_.erase(running_.begin());
            ++first_;
        }
        const std::int64_t rejecting = plan_->rejection_number(entries_).value_or(entries_ + 1);
        while (!running_.empty() && last() >= rejecting) {
            ended.rejected += running_.back();
            running_.pop_back();
        }
        return ended;
    }

    [[nodiscard]] std::int64_t entries() const { return entries_; }
    [[nodiscard]] double still_running() const {
        double total = 0.0;
        for (const double chance : running_)
            total += chance;
        return total;
    }
    // P(still running with `hits` or more)
    [[nodiscard]] double running_from(std::int64_t hits) const {
        double total = 0.0;
        for (std::size_t i = 0; i < running_.size(); ++i)
            total += first_ + static_cast<std::int64_t>(i) >= hits ? running_[i] : 0.0;
        return total;
    }

private:
    [[nodiscard]] std::int64_t last() const {
        return first_ + static_cast<std::int64_t>(running_.size()) - 1;
    }

    const SequentialPlan* plan_;
    double p_;
    std::int64_t entries_ = 0;
    std::int64_t first_ = 0; // hits of running_[0]
    std::vector<double> running_{1.0};
};

// P(an outcome at or above the one seen): increasing in p.
double chance_at_or_above(const SequentialPlan& plan, const SequentialStop& stop, double p) {
    Walk walk{plan, p};
    double below = 0.0; // accepted earlier than the stop seen
    double above = 0.0; // rejected no later than the stop seen
    const std::int64_t until = stop.decision == Decision::undecided ? stop.maximum : stop.entries;
    while (walk.entries() < until) {
        const auto ended = walk.step();
        if (walk.entries() < stop.entries)
            below += ended.accepted;
        above += ended.rejected;
    }
    if (stop.decision == Decision::reject)
        return above;
    if (stop.decision == Decision::accept)
        return 1.0 - below;
    return above + walk.running_from(stop.hits);
}

// P(an outcome above the one seen).
double chance_above(const SequentialPlan& plan, const SequentialStop& stop, double p) {
    Walk walk{plan, p};
    double below = 0.0;
    double above = 0.0;
    const std::int64_t until = stop.decision == Decision::undecided ? stop.maximum : stop.entries;
    while (walk.entries() < until) {
        const auto ended = walk.step();
        below += ended.accepted;
        if (walk.entries() < stop.entries || stop.decision == Decision::undecided)
            above += ended.rejected;
    }
    if (stop.decision == Decision::reject)
        return above;
    if (stop.decision == Decision::accept)
        return 1.0 - below;
    return above + walk.running_from(stop.hits + 1);
}

// The p at which the increasing `chance` reaches `target`.
template <class Chance> double share_at(const Chance& chance, double target) {
    double low = 0.0;
    double high = 1.0;
    for (int halving = 0; halving < 40; ++halving) {
        const double middle = (low + high) / 2.0;
        (chance(middle) < target ? low : high) = middle;
    }
    return (low + high) / 2.0;
}

// Wald's mean number of entries at the slope, where it is largest or nearly so.
double longest_mean(const SequentialPlan& plan) {
    return plan.h_accept * plan.h_reject / (plan.slope * (1.0 - plan.slope));
}

double expected_steps(const SequentialPlan& plan) {
    // Tails of the longest walks are some ten times the mean long.
    return 10.0 * longest_mean(plan) * (plan.h_accept + plan.h_reject + 10.0);
}

} // namespace

OperatingPoint operating_point(const SequentialPlan& plan, Share p,
                               std::optional<std::int64_t> maximum) {
    OperatingPoint point{.p = p.value()};
    Walk walk{plan, p.value()};
    double running = 1.0;
    while (running > negligible && (!maximum || walk.entries() < *maximum)) {
        point.mean_entries += running;
        const auto ended = walk.step();
        point.accept += ended.accepted;
        point.reject += ended.rejected;
        running = walk.still_running();
    }
    point.undecided = maximum ? running : 0.0;
    return point;
}

Result<std::vector<OperatingPoint>> operating_curve(const SequentialPlan& plan,
                                                    std::optional<std::int64_t> maximum,
                                                    const std::vector<Share>& extra) {
    constexpr int steps = 40;
    if (expected_steps(plan) * steps > most_steps)
        return usage_error(
            "plan sequential",
            fmt::format("to tell a share of {} from {} a run would take some {:.0f} entries",
                        plan.points.bad, plan.points.good, longest_mean(plan)),
            "take levels further apart, or larger risks");
    std::vector<double> shares{plan.points.good, plan.slope};
    for (int i = 0; i <= steps; ++i)
        shares.push_back(std::min(1.0, plan.points.bad * i / 20.0));
    for (const Share share : extra)
        shares.push_back(share.value());
    std::sort(shares.begin(), shares.end());
    const auto same = [](double a, double b) { return b - a <= 1e-12 * b; };
    shares.erase(std::unique(shares.begin(), shares.end(), same), shares.end());
    std::vector<OperatingPoint> curve;
    curve.reserve(shares.size());
    for (const double p : shares)
        curve.push_back(operating_point(plan, Share{p}, maximum));
    return curve;
}

Interval interval_after_stop(const SequentialPlan& plan, const SequentialStop& stop,
                             Confidence confidence) {
    if (stop.decision == Decision::go_on)
        throw BrokenInvariant("interval_after_stop: the run has not stopped");
    const double tail = confidence.each_tail();
    const auto at_or_above = [&](double p) { return chance_at_or_above(plan, stop, p); };
    const auto above = [&](double p) { return chance_above(plan, stop, p); };
    // The lowest outcome of all is at or above itself at every p: no lower limit but 0.
    const double low = at_or_above(0.0) >= tail ? 0.0 : share_at(at_or_above, tail);
    const double high = above(1.0) <= 1.0 - tail ? 1.0 : share_at(above, 1.0 - tail);
    return {.low = low, .high = high};
}

} // namespace dropledger::statistics
