// A start: the drive's ramp, the metering motors that follow travel, and each drop at its place.
//
// Units: µm of travel since begin(), µs of the controller's counter.
// Assumes: step() at least every ms; a drop is at most one call late. A valve opens when travel
// plus what will be travelled within the lead has reached the drop's place. step() only says so, so
// that the valves can be switched at once; tell() then makes the `drop` lines, with its tick.
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
    void step(const Travel& travel, uint32_t now_us); // valves: as often as can be
    void pace(const Travel& travel, uint32_t now_us, uint32_t meter_steps); // motors: every few ms
    void tell(uint32_t now_us);      // right after step()'s outputs are in force
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
        uint32_t opened_us = 0; // the last time
        uint32_t lead_q20 = 0;  // seconds, in 2^-20
        int32_t ahead_um = 0;   // travelled within the lead, at the speed of now
    };

    void drive(uint32_t now_us);
    void meter(const Travel& travel, uint32_t now_us, uint32_t meter_steps);
    void look_ahead(uint32_t speed_um_s);
    void open_due(int64_t here_um, uint32_t now_us);
    void shut_due(uint32_t now_us);
    void find_next();
    [[nodiscard]] bool may_open(uint8_t channel) const;
    void tell_one(uint8_t channel, uint32_t now_us);
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
    uint8_t untold_ = 0;   // a bit a channel: opened, and no line yet
    bool changed_ = false; // valves were switched: what comes next is to be found
    bool opens_ = false;   // some valve is to open, the first where travel is at open_um_
    int64_t open_um_ = 0;
    uint32_t shut_us_ = 0;    // when the first of the open ones is to shut
    uint32_t speed_um_s_ = 0; // that ahead_um is for
    uint16_t order_hz_ = 0;   // of the drive, at the ordered speed
    uint16_t from_hz_ = 0;    // where the ramp began
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
