#include "analysis/ledger/gate_ledger.hpp"

#include <algorithm>
#include <limits>
#include <utility>

namespace dropledger::ledger {

namespace {

constexpr std::int64_t beyond_all_um = std::int64_t{1} << 60U; // twice that still fits
constexpr std::size_t most_waiting = 262'144; // pulses that wait for a travel line behind them

template <class Item> std::vector<std::int64_t> positions(std::vector<Item>& items) {
    std::stable_sort(items.begin(), items.end(),
                     [](const Item& a, const Item& b) { return a.position_um < b.position_um; });
    std::vector<std::int64_t> places;
    places.reserve(items.size());
    for (const Item& item : items)
        places.push_back(item.position_um);
    return places;
}

} // namespace

GateLedger::GateLedger(Gate gate, const RunSetup& setup, const Travel& travel, EntrySink& sink)
    : gate_(std::move(gate)), mode_(setup.mode), spacing_um_(setup.spacing_um.value_or(0)),
      sink_(&sink), travel_(travel) {
    if (gate_.place == GatePlace::above)
        by_time_.emplace(sink);
}

void GateLedger::use_registration(const Registration& registration) {
    registration_ = registration;
    by_place_.emplace(*sink_, spacing_um_, registration.offset_um);
}

void GateLedger::take(const Commanded& drop) {
    if (by_time_)
        return by_time_->drop(drop);
    if (by_place_)
        return by_place_->drop(drop);
    learnt_from_.back().drops.push_back(drop);
    if (++learnt_drops_ >= 2 * learning_landings)
        learn();
}

void GateLedger::take(const Pulse& pulse) {
    ++tally_.pulses;
    pulses_.push(pulse);
    if (pulses_.size() >= most_waiting)
        advance(pulse.time_us - latest_us);
}

void GateLedger::take(const Knot& knot) {
    if (travel_.has_piece())
        advance(*travel_.newest_us());
    travel_.follow(knot);
}

void GateLedger::advance(std::int64_t settled_us) {
    land_pulses(settled_us);
    if (by_time_)
        return release_counts(settled_us);
    if (const auto settled_um = travel_.landing_um(settled_us, 0))
        release_landings(*settled_um - turning_back_um);
}

void GateLedger::land_pulses(std::int64_t settled_us) {
    for (; !pulses_.empty() && pulses_.front().time_us < settled_us; pulses_.pop()) {
        const Pulse& pulse = pulses_.front();
        const std::uint32_t seeds = gate_.seeds_in_pulse ? gate_.seeds_in_pulse(pulse.shape) : 1;
        if (seeds == 0) {
            ++tally_.debris;
            continue;
        }
        const auto place =
            by_time_ ? std::int64_t{0} : travel_.landing_um(pulse.time_us, gate_.fall_us);
        if (!place) {
            ++tally_.unplaced;
            continue;
        }
        tally_.seeds += seeds;
        landings_.push({.position_um = *place,
                        .seeds = seeds,
                        .depth_milli = pulse.shape.depth_milli,
                        .time_us = pulse.time_us,
                        .line = pulse.line});
    }
}

// A seed seen later, below the valve, lands at or beyond the place that travel has reached by then,
// or short of it by what travel turns back.
void GateLedger::release_landings(std::int64_t settled_um) {
    for (; !landings_.empty() && landings_.front().position_um <= settled_um; landings_.pop())
        take_place(landings_.front());
    settle(settled_um);
}

void GateLedger::take_place(const Landing& landing) {
    if (learning())
        return enter(landing);
    sink_->landed(landing);
    if (landing.position_um >= entered_um_) {
        entered_um_ = landing.position_um;
        return enter(landing);
    }
    ++tally_.turned_back;
    if (mode_ != Mode::line)
        sink_->stray(landing); // its drop may be closed
}

void GateLedger::release_counts(std::int64_t settled_us) {
    for (; !landings_.empty(); landings_.pop())
        enter(landings_.front());
    if (mode_ != Mode::line)
        by_time_->settled(settled_us);
}

void GateLedger::enter(const Landing& landing) {
    if (mode_ == Mode::line)
        return; // no drops are commanded in a line
    if (by_time_)
        return by_time_->landing(landing);
    if (by_place_)
        return by_place_->landing(landing);
    learnt_from_.back().landings.push_back(landing);
    if (++learnt_landings_ >= learning_landings)
        learn();
}

void GateLedger::settle(std::int64_t settled_um) {
    settled_um_ = settled_um;
    if (by_place_ && mode_ != Mode::line)
        by_place_->settled(settled_um);
}

void GateLedger::take(const SegmentEnd& end) {
    land_pulses(end.end_us);
    travel_.restart();
    if (by_time_) {
        release_counts(end_of_time);
        by_time_->end_segment();
    } else {
        release_landings(beyond_all_um);
        if (by_place_)
            by_place_->end_segment();
    }
    settled_um_ = entered_um_ = -beyond_all_um;
    if (learning())
        learnt_from_.emplace_back();
    else
        sink_->segment_ended();
}

void GateLedger::take(const RunEnd& /*end*/) {
    if (learning())
        learn();
}

void GateLedger::learn() {
    std::vector<std::int64_t> residuals;
    for (Segment& segment : learnt_from_) {
        const auto drops = positions(segment.drops);
        const auto landings = positions(segment.landings);
        const auto some = residuals_um(landings, drops, spacing_um_);
        residuals.insert(residuals.end(), some.begin(), some.end());
    }
    use_registration(dropledger::ledger::registration(std::move(residuals), spacing_um_));
    const auto segments = std::exchange(learnt_from_, {});
    for (std::size_t i = 0; i < segments.size(); ++i) {
        replay(segments[i]);
        if (i + 1 < segments.size()) {
            by_place_->end_segment();
            sink_->segment_ended();
        }
    }
    if (!segments.back().landings.empty())
        entered_um_ = segments.back().landings.back().position_um;
    by_place_->settled(settled_um_);
}

void GateLedger::replay(const Segment& segment) {
    for (const Commanded& drop : segment.drops)
        by_place_->drop(drop);
    for (const Landing& landing : segment.landings) {
        sink_->landed(landing);
        by_place_->landing(landing);
    }
}

} // namespace dropledger::ledger
