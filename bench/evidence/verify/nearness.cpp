#include "bench/evidence/verify/nearness.hpp"

#include "analysis/base/version.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace dropledger::evidence {

namespace {

constexpr double rounding = 1e-9;
constexpr double other_version_share = 0.02;

} // namespace

Nearness nearness(const batch::Certificate& certificate, double again, double stated) {
    const double apart = std::abs(again - stated);
    const double largest = std::max(std::abs(again), std::abs(stated));
    if (apart <= rounding * std::max(1.0, largest))
        return Nearness::same;
    const bool is_close = apart <= other_version_share * largest;
    return is_close && certificate.program != program_and_version() ? Nearness::by_another_version
                                                                    : Nearness::differs;
}

std::string told(const batch::Certificate& certificate, std::string_view place, double again,
                 double stated) {
    return fmt::format("whether {} had {} right: it certified {:.6g}, {} works out {:.6g}",
                       certificate.program, place, stated, program_and_version(), again);
}

} // namespace dropledger::evidence
