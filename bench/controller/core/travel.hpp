// Where belt or ground are and how fast they go, from encoder counts and the instant of the last.
//
// Units: µm since begin(), µm/s, µs of the controller's counter.
// Assumes: update() at least every second, speed below 50 m/s. Between two counts the speed
// of the last window is carried on, but never over the next count.
#pragma once

#include <stdint.h>

namespace dropledger {
namespace controller {

struct Counts {
    int32_t count = 0;
    uint32_t at_us = 0; // when it was reached
};

// A place and when it was passed: never between two counts, so it is exact.
struct Passed {
    int64_t position_um = 0;
    uint32_t tick_us = 0;
};

class Travel {
public:
    explicit Travel(uint32_t nm_per_count)
        : nm_per_count_(nm_per_count), whole_um_per_count_(nm_per_count / nm_per_um),
          odd_nm_per_count_(nm_per_count % nm_per_um) {}

    void begin(Counts counts, uint32_t now_us); // here is 0
    void update(Counts counts, uint32_t now_us);

    [[nodiscard]] int64_t position_um(uint32_t now_us) const;
    [[nodiscard]] int64_t counted_um() const { return position_um_; }
    [[nodiscard]] Passed passed(uint32_t now_us) const;
    [[nodiscard]] uint32_t speed_um_s() const { return speed_um_s_; } // 0 at rest and backwards
    [[nodiscard]] uint32_t still_us(uint32_t now_us) const;           // since the last count

private:
    static constexpr uint32_t nm_per_um = 1000;

    void forwards();
    void backwards();
    void measure_speed(uint32_t now_us);

    uint32_t nm_per_count_;
    uint32_t whole_um_per_count_;
    uint32_t odd_nm_per_count_;
    Counts last_;
    int64_t position_um_ = 0;
    uint32_t rest_nm_ = 0; // of the position, below 1 µm
    Counts window_;        // where the speed's window began
    uint32_t speed_um_s_ = 0;
    uint32_t um_per_us_q12_ = 0; // the same speed in 4096ths, for between two counts
};

} // namespace controller
} // namespace dropledger
