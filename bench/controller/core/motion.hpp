// A start: the drive's ramp, the metering motors that follow travel, and each drop at its place.
//
// Units: µm of travel since begin(), µs of the controller's counter.
// Assumes: step() at least every few ms; a drop is at most one call late. A valve opens when travel
// plus what will be travelled within the lead has reached the drop's place, and its line has the
// tick of that call.
#pragma once

#include "bench/controller/core/event_buffer.hpp"
#include "bench/controller/core/order.hpp"
#include "bench/controller/core/outputs.hpp"

namespace dropledger {
namespace controller {

class Motion {
public:
    Motion(const Setup& setup, EventBuffer& buffer) : setup_(setup), buffer_(buffer) {}

    void begin(const Order& order, uint32_t now_us, uint32_t meter_steps);
    void step(const Travel& travel, uint32_t now_us, uint32_t meter_steps);
    void slow_down(uint32_t now_us); // valves shut, metering off at once; the drive by its ramp
    void cut();                      // everything off at once

    [[nodiscard]] const Outputs& outputs() const { return outputs_; }
    // Every ordered drop was made and has had the time to fall; never with DROPS 0.
    [[nodiscard]] bool is_done(uint32_t now_us) const;
    [[nodiscard]] bool is_at_speed() const { return pace_ == Pace::even; }
    [[nodiscard]] bool is_at_rest() const { return pace_ == Pace::rest; }

private:
    enum class Pace : uint8_t { rest, faster, even, slower };
    struct Channel {
        int64_t next_um = 0; // place of the next drop
        uint32_t index = 0;
        uint32_t opened_us = 0;
        uint32_t lead_q20 = 0; // seconds, in 2^-20
    };

    void drive(uint32_t now_us);
    void meter(const Travel& travel, uint32_t now_us, uint32_t meter_steps);
    void valve(uint8_t channel, int64_t here_um, uint32_t speed_um_s, uint32_t now_us);
    void open(uint8_t channel, uint32_t now_us);
    void line_mode(int64_t here_um, uint32_t now_us);
    [[nodiscard]] bool has(uint8_t channel) const;
    [[nodiscard]] bool all_dropped() const;

    const Setup& setup_;
    EventBuffer& buffer_;
    Order order_;
    Outputs outputs_;
    Channel channels_[most_channels];
    Pace pace_ = Pace::rest;
    bool last_dropped_ = false;
    uint16_t order_hz_ = 0; // of the drive, at the ordered speed
    uint16_t from_hz_ = 0;  // where the ramp began
    uint32_t ramp_began_us_ = 0;
    uint32_t last_drop_us_ = 0;
    uint32_t valve_open_us_ = 0;
    uint32_t falling_us_ = 0; // the longest lead, and some
    int64_t first_um_ = 0;    // place of drop 0
    uint32_t meter_from_ = 0; // steps made before this start
    uint32_t steps_per_m_ = 0;
    uint32_t metered_us_ = 0;
};

} // namespace controller
} // namespace dropledger
