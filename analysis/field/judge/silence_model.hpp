// Is a silent drop part of a lasting silence, or one of those that come singly? A hidden-state model
// of one row's meter and gate.
//
// State "steady": each drop is silent independently, with the share that the row has thereabouts
// (background.hpp), which grows where a gate goes blind by and by. State "out": silent with a share
// of its own, 0.85 and more. Both last geometrically, an outage at least `shortest_mean_outage` drops
// on average: a shorter one could not be told from independent drops. Fitted by expectation and
// maximisation over all passes of the row (each begins anew), with weak prior counts. A stretch of
// drops that are out counts where it is too long for the drops around it: by its log likelihood
// over independent drops, the row's number of drops looked at paid for. Undefined when: no drops: no
// outages. Source: Baum et al. 1970 (forward and backward recursions).
#pragma once

#include "analysis/field/judge/background.hpp"
#include "analysis/field/judge/course.hpp"

#include <cstdint>
#include <vector>

namespace dropledger::field {

struct SilenceModel {
    static constexpr double shortest_mean_outage = 5.0;

    double enter = 0.001;    // steady -> out, per drop
    double leave = 0.1;      // out -> steady
    double begin_out = 0.05; // a pass begins in an outage
    double silent_when_out = 0.98;
};

struct Outage {
    std::size_t pass = 0;
    std::size_t begin = 0; // drops of the pass, end excluded; the first and the last are silent
    std::size_t end = 0;
    std::int64_t silent = 0;
};

struct SilenceFit {
    SilenceModel model;
    std::vector<Outage> outages; // in order
};

[[nodiscard]] SilenceFit fit_silence(const Course& course, const Pieces& pieces);

} // namespace dropledger::field
