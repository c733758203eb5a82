// Events and truths of a simulated run, gathered for tests, and the error a share may have.
#pragma once

#include "bench/virtual/unit/physics.hpp"

#include <algorithm>
#include <cmath>
#include <iterator>
#include <vector>

namespace dropledger::bench_virtual {

struct Outcome {
    std::vector<Event> events;
    std::vector<Truth> truths;

    [[nodiscard]] std::vector<Truth> of(TruthKind kind) const {
        std::vector<Truth> found;
        std::copy_if(truths.begin(), truths.end(), std::back_inserter(found),
                     [kind](const Truth& truth) { return truth.kind == kind; });
        return found;
    }
    [[nodiscard]] std::int64_t pulses(int gate) const {
        return std::count_if(events.begin(), events.end(), [gate](const Event& event) {
            return event.kind == EventKind::pulse && event.gate == gate;
        });
    }
};

// No controller, no wire.
inline Outcome simulate(const Scenario& scenario, std::int64_t drops) {
    Outcome outcome;
    const auto take_truths = [&outcome](Physics& physics) {
        const auto ready = physics.take_truths();
        outcome.truths.insert(outcome.truths.end(), ready.begin(), ready.end());
    };
    Order order = default_order(scenario);
    order.drops = drops;
    Physics physics(scenario, order);
    while (const Event* event = physics.peek()) {
        outcome.events.push_back(*event);
        physics.pop();
        take_truths(physics);
    }
    take_truths(physics);
    return outcome;
}

inline double share(std::int64_t hits, std::size_t n) {
    return static_cast<double>(hits) / static_cast<double>(n);
}

// Four standard errors of a binomial share.
inline double four_sigma(double p, std::size_t n) {
    return 4.0 * std::sqrt(p * (1.0 - p) / static_cast<double>(n));
}

template <class Test> double share_of(const std::vector<Truth>& truths, Test test) {
    return share(std::count_if(truths.begin(), truths.end(), test), truths.size());
}

} // namespace dropledger::bench_virtual
