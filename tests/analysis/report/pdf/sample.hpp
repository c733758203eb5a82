// A signed certificate of an invented batch, for tests.
#pragma once

#include "analysis/batch/certificate/certificate.hpp"

namespace dropledger::report::certificate {

// Of 280 units, so many tested (at least five): the first outside, the fourth made void, the fifth
// tested again.
[[nodiscard]] batch::Certificate sample_certificate(int tested);
[[nodiscard]] batch::Certificate signed_sample(const batch::Certificate& certificate);

} // namespace dropledger::report::certificate
