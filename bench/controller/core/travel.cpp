#include "bench/controller/core/travel.hpp"

namespace dropledger {
namespace controller {

namespace {

constexpr uint32_t window_us = 40000;
constexpr uint32_t at_rest_us = 100000; // without a count
constexpr uint32_t fresh_us = 20000;    // a count is recent enough for a line

} // namespace

void Travel::begin(Counts counts, uint32_t now_us) {
    last_ = window_ = counts;
    last_.at_us = window_.at_us = now_us;
    position_um_ = 0;
    rest_nm_ = 0;
    speed_um_s_ = um_per_us_q12_ = 0;
}

// Step by step: an MCU without a divider adds faster than it divides.
void Travel::update(Counts counts, uint32_t now_us) {
    if (counts.count != last_.count) {
        for (; last_.count < counts.count; ++last_.count)
            forwards();
        for (; last_.count > counts.count; --last_.count)
            backwards();
        last_.at_us = counts.at_us;
    }
    measure_speed(now_us);
}

void Travel::forwards() {
    position_um_ += whole_um_per_count_;
    rest_nm_ += odd_nm_per_count_;
    if (rest_nm_ >= nm_per_um) {
        rest_nm_ -= nm_per_um;
        ++position_um_;
    }
}

void Travel::backwards() {
    position_um_ -= whole_um_per_count_;
    if (rest_nm_ < odd_nm_per_count_) {
        rest_nm_ += nm_per_um;
        --position_um_;
    }
    rest_nm_ -= odd_nm_per_count_;
}

// From count to count, so that no part of a count is in it.
void Travel::measure_speed(uint32_t now_us) {
    if (still_us(now_us) > at_rest_us) {
        speed_um_s_ = um_per_us_q12_ = 0;
        window_ = last_;
        return;
    }
    const uint32_t passed_us = last_.at_us - window_.at_us;
    if (passed_us < window_us)
        return;
    const int32_t steps = last_.count - window_.count;
    const auto nm = steps > 0 ? static_cast<uint64_t>(steps) * nm_per_count_ : 0;
    speed_um_s_ = static_cast<uint32_t>(nm * 1000 / passed_us);
    um_per_us_q12_ = static_cast<uint32_t>((static_cast<uint64_t>(speed_um_s_) << 12) / 1000000);
    window_ = last_;
}

uint32_t Travel::still_us(uint32_t now_us) const {
    const uint32_t since = now_us - last_.at_us;
    return since < 0x80000000U ? since : 0; // the count was a moment later than `now`
}

int64_t Travel::position_um(uint32_t now_us) const {
    const uint32_t since_us = still_us(now_us);
    if (since_us >= fresh_us)
        return position_um_;
    const uint32_t ahead_um = (since_us * um_per_us_q12_) >> 12;
    return position_um_ + (ahead_um < whole_um_per_count_ ? ahead_um : whole_um_per_count_);
}

Passed Travel::passed(uint32_t now_us) const {
    return {position_um_, still_us(now_us) < fresh_us ? last_.at_us : now_us};
}

} // namespace controller
} // namespace dropledger
