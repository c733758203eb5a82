// How far apart the samples of a capture lie: stated, or the greatest step of which all times are
// whole multiples.
//
// Units: picoseconds.
// Assumes: an instrument samples evenly. Times that are all multiples of some longer step by chance
// are not seen to be; the thousands of edges that are looked at leave no room for that.
#pragma once

#include <cstdint>
#include <numeric>
#include <optional>

namespace dropledger::capture {

class Resolution {
public:
    void take(std::int64_t at_ps) {
        if (before_ps_)
            step_ps_ = std::gcd(step_ps_, at_ps - *before_ps_);
        before_ps_ = at_ps;
    }
    // 0 before two different times were seen.
    [[nodiscard]] std::int64_t step_ps() const { return step_ps_; }

private:
    std::optional<std::int64_t> before_ps_;
    std::int64_t step_ps_ = 0;
};

} // namespace dropledger::capture
