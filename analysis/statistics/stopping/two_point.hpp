// What a plan must tell apart: a good and a bad level of a share, each with the risk of a wrong
// decision.
#pragma once

#include "analysis/base/result.hpp"

namespace dropledger::statistics {

struct TwoPoint {
    double good = 0.01;  // producer's point: acceptable share
    double bad = 0.10;   // consumer's point: share to be found out
    double alpha = 0.05; // risk of rejecting at the good level
    double beta = 0.10;  // risk of accepting at the bad level
};

// 0 < good < bad < 1; both risks above 0 and together below 1. Anything else is a usage error.
[[nodiscard]] Result<TwoPoint> checked(TwoPoint points);

} // namespace dropledger::statistics
