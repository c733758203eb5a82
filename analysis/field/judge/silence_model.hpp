// Is a silent drop part of a lasting silence, or one of those that come singly? A two-state model
// of one row.
//
// State "steady": each drop is silent independently, with the row's background share. State "out":
// silent with `silent_when_out`. Both last geometrically, an outage at least `shortest_mean_outage`
// drops on average: a shorter one could not be told from independent drops of a high share. Fitted
// by expectation and maximisation over all passes of the row (each begins anew), with weak prior
// counts; the model with outages is taken only where it gains `needed_gain` of log likelihood over
// independent drops.
// Undefined when: no drops: background 0, no outages.
// Source: Baum et al. 1970 (forward and backward recursions).
#pragma once

#include <cstdint>
#include <vector>

namespace dropledger::field {

using Silence = std::vector<std::uint8_t>; // one pass, in drop order: 1 = silent

struct SilenceModel {
    static constexpr double silent_when_out = 0.98;
    static constexpr double shortest_mean_outage = 5.0;
    static constexpr double needed_gain = 5.0;

    double background = 0.0; // silent share outside outages
    double enter = 0.001;    // steady -> out, per drop
    double leave = 0.1;      // out -> steady
    double begin_out = 0.05; // a pass begins in an outage
    bool outages = false;
    double gain = 0.0; // log likelihood over independent drops
};

struct SilenceFit {
    SilenceModel model;
    // P(out) of each drop; empty where the model has no outages
    std::vector<std::vector<float>> out;
};

[[nodiscard]] SilenceFit fit_silence(const std::vector<Silence>& passes);

} // namespace dropledger::field
