#include "bench/virtual/unit/physics.hpp"

#include "analysis/base/result.hpp"

#include <algorithm>
#include <limits>
#include <tuple>

namespace dropledger::bench_virtual {

namespace {

constexpr double never = std::numeric_limits<double>::infinity();
constexpr std::int64_t settling_us = 1500000; // longest lag, fall and way of a line together
constexpr std::uint64_t wire_stream = 1000;
constexpr std::uint64_t run_step = 0x9e3779b97f4a7c15ULL;

Scenario reseeded(Scenario scenario, std::uint64_t run) {
    scenario.seed ^= run * run_step;
    return scenario;
}

} // namespace

// Where two lines leave at once, the order is fixed all the same.
bool Physics::Later::operator()(const Event& a, const Event& b) const {
    return std::tie(a.send_us, a.at_us, a.kind, a.channel, a.gate) >
           std::tie(b.send_us, b.at_us, b.kind, b.channel, b.gate);
}

Physics::Physics(const Scenario& scenario, const Order& order, std::uint64_t run)
    : encoder_um_(scenario.encoder_um), travel_every_us_(scenario.travel_every_us),
      shuffle_us_(scenario.shuffle_us), travel_({.speed_um_s = order.speed_um_s,
                                                 .ripple = scenario.speed_ripple,
                                                 .period_s = scenario.ripple_period_s}),
      wire_(reseeded(scenario, run).seed, wire_stream) {
    if (order.channel_mask == 0 || (order.channel_mask >> scenario.channels.size()) != 0)
        throw BrokenInvariant("physics asked for channels that the scenario does not have");
    double last_us = 0.0;
    for (std::size_t channel = 0; channel < scenario.channels.size(); ++channel) {
        if ((order.channel_mask >> channel & 1U) == 0)
            continue;
        units_.emplace_back(reseeded(scenario, run), order, travel_, static_cast<int>(channel));
        last_us = std::max(last_us, units_.back().last_command_us());
    }
    for (const Unit& unit : units_)
        ready_us_.push_back(unit.ready_us());
    find_safe();
    if (last_us < never)
        end_us_ = static_cast<std::int64_t>(last_us) + settling_us;
}

std::optional<std::int64_t> Physics::end_us() const {
    return end_us_;
}

void Physics::queue(Event event) {
    const auto delay =
        static_cast<std::int64_t>(wire_.below(static_cast<std::uint64_t>(shuffle_us_) + 1));
    event.send_us = event.at_us + delay;
    ahead_.push(event);
}

void Physics::collect(Unit& unit) {
    const auto cancelled = [this](std::int64_t at_us, std::int64_t cause_us) {
        return stopped_us_ && at_us > *stopped_us_ && cause_us > *stopped_us_;
    };
    for (const Event& event : unit.events)
        if (!cancelled(event.at_us, event.cause_us))
            queue(event);
    unit.events.clear();
    if (keeps_truths_)
        for (Truth& truth : unit.truths)
            truths_.push_back(std::move(truth));
    unit.truths.clear();
}

void Physics::advance_travel() {
    const std::int64_t at_us = end_us_ ? std::min(next_travel_us_, *end_us_) : next_travel_us_;
    const auto position =
        static_cast<std::int64_t>(travel_.position_um(static_cast<double>(at_us)));
    queue({.at_us = at_us,
           .kind = EventKind::travel,
           .position_um = position / encoder_um_ * encoder_um_,
           .cause_us = 0});
    next_travel_us_ = end_us_ && at_us >= *end_us_ ? std::numeric_limits<std::int64_t>::max()
                                                   : at_us + travel_every_us_;
}

void Physics::find_safe() {
    safe_us_ = next_travel_us_ == std::numeric_limits<std::int64_t>::max()
                   ? never
                   : static_cast<double>(next_travel_us_);
    for (const double ready_us : ready_us_)
        safe_us_ = std::min(safe_us_, ready_us);
}

// Lets whoever is farthest behind find out what comes next.
void Physics::advance() {
    double least_us = static_cast<double>(next_travel_us_);
    std::optional<std::size_t> behind;
    for (std::size_t i = 0; i < units_.size(); ++i)
        if (ready_us_[i] < least_us) {
            least_us = ready_us_[i];
            behind = i;
        }
    if (!behind)
        return advance_travel();
    Unit& unit = units_.at(*behind);
    if (unit.done())
        return finish(*behind, never);
    unit.produce();
    ready_us_[*behind] = unit.ready_us();
    collect(unit);
}

void Physics::finish(std::size_t unit, double stop_us) {
    units_.at(unit).finish(stop_us);
    ready_us_[unit] = never;
    collect(units_.at(unit));
}

const Event* Physics::peek() {
    for (;;) {
        if (!ahead_.empty() && static_cast<double>(ahead_.top().send_us) < safe_us_)
            return &ahead_.top();
        if (safe_us_ == never) {
            over_ = ahead_.empty();
            return over_ ? nullptr : &ahead_.top();
        }
        advance();
        find_safe();
    }
}

void Physics::pop() {
    popped_us_ = ahead_.top().at_us;
    ahead_.pop();
}

void Physics::stop(std::int64_t at_us) {
    stopped_us_ = at_us;
    end_us_ =
        std::min(end_us_.value_or(std::numeric_limits<std::int64_t>::max()), at_us + settling_us);
    std::priority_queue<Event, std::vector<Event>, Later> kept;
    for (; !ahead_.empty(); ahead_.pop())
        if (ahead_.top().at_us <= at_us || ahead_.top().cause_us <= at_us)
            kept.push(ahead_.top());
    ahead_ = std::move(kept);
    for (std::size_t i = 0; i < units_.size(); ++i)
        if (ready_us_[i] < never)
            finish(i, static_cast<double>(at_us));
    find_safe();
}

std::vector<Truth> Physics::take_truths() {
    std::vector<Truth> ready;
    const double until_us = over_ ? never : static_cast<double>(popped_us_);
    while (!truths_.empty() && truths_.front().cause_us <= until_us) {
        const bool happened =
            !stopped_us_ || truths_.front().cause_us <= static_cast<double>(*stopped_us_);
        if (happened)
            ready.push_back(std::move(truths_.front()));
        truths_.pop_front();
    }
    return ready;
}

} // namespace dropledger::bench_virtual
