// What a single sampling plan does to lots of each quality: acceptance, outgoing quality,
// inspection.
//
// Assumes: lots that are not accepted are inspected wholly and their nonconforming units replaced
// (rectifying inspection), for outgoing quality and total inspection only.
// Undefined when: outgoing quality and total inspection of a stream without a lot size: empty.
// Source: NIST/SEMATECH e-Handbook 6.2.3.2; AOQ = Pa p (N - n)/N, ATI = n + (1 - Pa)(N - n).
#pragma once

#include "analysis/sampling/sampling_plan.hpp"

#include <cstdint>
#include <optional>
#include <vector>

namespace dropledger::batch {

struct QualityPoint {
    double p = 0.0; // share nonconforming
    double accept_probability = 0.0;
    std::optional<double> outgoing_quality; // AOQ
    std::optional<double> total_inspection; // ATI
};

// Accepted with fewer than `reject` nonconforming units (a count in the gap of a reduced plan
// accepts).
struct SampleNumbers {
    std::int64_t n = 0;
    std::int64_t reject = 1;
};

// Binomial: the sample is small against the lot, or comes from a stream. With a lot size, AOQ and
// ATI too.
[[nodiscard]] QualityPoint quality_point(SampleNumbers plan, double p,
                                         std::optional<std::int64_t> lot);

// Hypergeometric: a lot of so many units, so many of them nonconforming.
[[nodiscard]] QualityPoint quality_point_of_lot(SampleNumbers plan, std::int64_t lot,
                                                std::int64_t nonconforming);

struct OutgoingLimit {
    double p = 0.0;    // incoming share at which it occurs
    double aoql = 0.0; // largest average outgoing share nonconforming
};
// Over the whole counts that such a lot can hold (hypergeometric).
[[nodiscard]] OutgoingLimit outgoing_quality_limit_of_lot(SampleNumbers plan, std::int64_t lot);

// The p that the plan accepts with this probability (0 < probability < 1), binomial.
[[nodiscard]] double share_accepted_with(SampleNumbers plan, double probability);

} // namespace dropledger::batch
