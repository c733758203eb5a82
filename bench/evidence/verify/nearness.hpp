// Whether a number that was worked out again is the one that was certified.
//
// Another machine may round a last digit otherwise. Another version of the program may have worked a statistic out less
// closely, or more so: what lies within two parts in a hundred is then told and not refused. It is the issuer who states
// the version, so that an issuer who lies can shade a statistic by that much; no count, outcome or decision.
#pragma once

#include "analysis/batch/certificate/certificate.hpp"

#include <cstdint>
#include <string>
#include <string_view>

namespace dropledger::evidence {

enum class Nearness : std::uint8_t {
    same,
    by_another_version, // within two parts in a hundred, and another version issued
    differs,
};

[[nodiscard]] Nearness nearness(const batch::Certificate& certificate, double again, double stated);

// The sentence that tells of it.
[[nodiscard]] std::string told(const batch::Certificate& certificate, std::string_view place,
                               double again, double stated);

} // namespace dropledger::evidence
