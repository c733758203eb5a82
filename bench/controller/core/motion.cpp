#include "bench/controller/core/motion.hpp"

namespace dropledger {
namespace controller {

namespace {

constexpr int64_t us_per_s = 1000000;
constexpr int64_t um_per_m = 1000000;
constexpr uint32_t meter_every_us = 40000;
constexpr uint32_t after_fall_us = 300000; // beyond the longest lead
constexpr int64_t behind_share = 2;        // of the steps behind, made up in a second

uint16_t hz(int64_t value, uint32_t most) {
    if (value <= 0)
        return 0;
    return static_cast<uint16_t>(value < static_cast<int64_t>(most) ? value : most);
}

} // namespace

void Motion::begin(const Order& order, uint32_t now_us, uint32_t meter_steps) {
    order_ = order;
    pace_ = Pace::faster;
    last_dropped_ = false;
    untold_ = 0;
    speed_um_s_ = 0;
    ramp_began_us_ = now_us;
    from_hz_ = 0;
    order_hz_ = hz(order.speed_um_s * 1000 / setup_.nm_per_drive_step, setup_.most_drive_hz);
    const int64_t between_us = order.spacing_um * us_per_s / order.speed_um_s;
    valve_open_us_ = between_us / 2 < static_cast<int64_t>(setup_.valve_open_us)
                         ? static_cast<uint32_t>(between_us / 2)
                         : setup_.valve_open_us;
    meter_from_ = meter_steps;
    metered_us_ = now_us;
    steps_per_m_ =
        static_cast<uint32_t>(order.count * setup_.steps_per_seed * um_per_m / order.spacing_um);
    uint32_t longest_us = 0;
    for (uint8_t channel = 0; channel < setup_.channels; ++channel)
        longest_us = setup_.lead_us[channel] > longest_us ? setup_.lead_us[channel] : longest_us;
    falling_us_ = longest_us + after_fall_us;
    // Drop 0 comes when the drive is at its speed and the longest lead still before it.
    const int64_t run_in_um = order.speed_um_s * (setup_.ramp_us + falling_us_) / us_per_s;
    first_um_ = (run_in_um / order.spacing_um + 1) * order.spacing_um;
    for (uint8_t channel = 0; channel < most_channels; ++channel) {
        channels_[channel] = Channel();
        channels_[channel].next_um = first_um_;
        channels_[channel].lead_q20 = static_cast<uint32_t>(
            (static_cast<uint64_t>(setup_.lead_us[channel]) << 20) / us_per_s);
    }
    outputs_ = Outputs();
    outputs_.drive = true;
    outputs_.meters = static_cast<uint8_t>(order.channel_mask);
    find_next();
}

bool Motion::has(uint8_t channel) const {
    return ((order_.channel_mask >> channel) & 1U) != 0;
}

void Motion::step(const Travel& travel, uint32_t now_us) {
    if (pace_ == Pace::slower || pace_ == Pace::rest)
        return;
    const int64_t here_um = travel.position_um(now_us);
    if (order_.mode == Mode::line)
        return line_mode(here_um, now_us);
    if (outputs_.valves != 0 && now_us - shut_us_ < 0x80000000U)
        shut_due(now_us);
    if (opens_ && here_um >= open_um_)
        open_due(here_um, now_us);
    if (!last_dropped_ && !opens_ && outputs_.valves == 0 && all_dropped()) {
        last_dropped_ = true;
        last_drop_us_ = now_us;
    }
}

void Motion::pace(const Travel& travel, uint32_t now_us, uint32_t meter_steps) {
    drive(now_us);
    if (travel.speed_um_s() != speed_um_s_)
        look_ahead(travel.speed_um_s());
    if (pace_ == Pace::faster || pace_ == Pace::even)
        meter(travel, now_us, meter_steps);
}

void Motion::drive(uint32_t now_us) {
    if (pace_ == Pace::even || pace_ == Pace::rest)
        return;
    const uint32_t passed_us = now_us - ramp_began_us_;
    const bool over = passed_us >= setup_.ramp_us;
    const auto to_hz = static_cast<int64_t>(pace_ == Pace::faster ? order_hz_ : 0);
    const int64_t along_hz =
        over ? to_hz - from_hz_ : (to_hz - from_hz_) * passed_us / setup_.ramp_us;
    outputs_.drive_hz = static_cast<uint16_t>(from_hz_ + along_hz);
    if (!over)
        return;
    pace_ = pace_ == Pace::faster ? Pace::even : Pace::rest;
    outputs_.drive = pace_ == Pace::even;
}

// The discs turn with the ground: by its speed, and what they are behind its way is made up.
void Motion::meter(const Travel& travel, uint32_t now_us, uint32_t meter_steps) {
    if (now_us - metered_us_ < meter_every_us)
        return;
    metered_us_ = now_us;
    const int64_t wanted = travel.counted_um() * steps_per_m_ / um_per_m;
    const int64_t behind = wanted - static_cast<int64_t>(meter_steps - meter_from_);
    const int64_t by_speed = static_cast<int64_t>(travel.speed_um_s()) * steps_per_m_ / um_per_m;
    outputs_.meter_hz = hz(by_speed + behind * behind_share, setup_.most_meter_hz);
}

// Leaves finding what comes next to tell(): until then untold openings count as open.
void Motion::look_ahead(uint32_t speed_um_s) {
    speed_um_s_ = speed_um_s;
    for (uint8_t channel = 0; channel < setup_.channels; ++channel) {
        Channel& one = channels_[channel];
        one.ahead_um =
            static_cast<int32_t>((static_cast<uint64_t>(speed_um_s) * one.lead_q20) >> 20);
    }
    changed_ = true;
}

bool Motion::may_open(uint8_t channel) const {
    const bool left = order_.drops == 0 || channels_[channel].index < order_.drops;
    return has(channel) && left && ((unsigned{outputs_.valves} >> channel) & 1U) == 0;
}

void Motion::open_due(int64_t here_um, uint32_t now_us) {
    uint8_t bit = 1;
    for (uint8_t channel = 0; channel < setup_.channels;
         ++channel, bit = static_cast<uint8_t>(bit << 1)) {
        Channel& one = channels_[channel];
        if (!may_open(channel) || here_um + one.ahead_um < one.next_um)
            continue;
        outputs_.valves = static_cast<uint8_t>(outputs_.valves | bit);
        untold_ = static_cast<uint8_t>(untold_ | bit);
        one.opened_us = now_us;
        ++one.index;
    }
    changed_ = true;
}

void Motion::shut_due(uint32_t now_us) {
    for (uint8_t channel = 0; channel < setup_.channels; ++channel)
        if (now_us - channels_[channel].opened_us >= valve_open_us_)
            outputs_.valves = static_cast<uint8_t>(outputs_.valves & ~(1U << channel));
    changed_ = true;
}

// What comes next, so that most steps have one place and one instant to compare with.
void Motion::find_next() {
    changed_ = false;
    opens_ = false;
    bool shuts = false;
    for (uint8_t channel = 0; channel < setup_.channels; ++channel) {
        const Channel& one = channels_[channel];
        const bool is_open = ((unsigned{outputs_.valves} >> channel) & 1U) != 0;
        const uint32_t its_shut_us = one.opened_us + valve_open_us_;
        if (is_open && (!shuts || shut_us_ - its_shut_us < 0x80000000U))
            shut_us_ = its_shut_us;
        shuts = shuts || is_open;
        const int64_t its_open_um = one.next_um - one.ahead_um;
        if (!may_open(channel) || (opens_ && its_open_um >= open_um_))
            continue;
        open_um_ = its_open_um;
        opens_ = true;
    }
}

void Motion::tell(uint32_t now_us) {
    if (!changed_)
        return;
    for (uint8_t channel = 0; untold_ != 0; ++channel) {
        const auto bit = static_cast<uint8_t>(1U << channel);
        if ((untold_ & bit) != 0)
            tell_one(channel, now_us);
        untold_ = static_cast<uint8_t>(untold_ & ~bit);
    }
    find_next();
}

void Motion::tell_one(uint8_t channel, uint32_t now_us) {
    Channel& one = channels_[channel];
    Event event;
    event.kind = Kind::drop;
    event.channel = channel;
    event.tick_us = now_us;
    event.number = one.index - 1;
    event.count = static_cast<uint32_t>(order_.count);
    event.position_um = one.next_um;
    buffer_.keep(event);
    one.next_um += order_.spacing_um;
}

bool Motion::all_dropped() const {
    for (uint8_t channel = 0; channel < setup_.channels; ++channel)
        if (has(channel) && channels_[channel].index < order_.drops)
            return false;
    return order_.drops > 0;
}

// The valves of a line stay open while it is laid.
void Motion::line_mode(int64_t here_um, uint32_t now_us) {
    if (last_dropped_)
        return;
    const bool over = order_.drops > 0 && here_um >= first_um_ + order_.drops * order_.spacing_um;
    outputs_.valves = over ? 0 : static_cast<uint8_t>(order_.channel_mask);
    if (!over)
        return;
    outputs_.meters = 0;
    last_dropped_ = true;
    last_drop_us_ = now_us;
}

bool Motion::is_done(uint32_t now_us) const {
    return last_dropped_ && now_us - last_drop_us_ >= falling_us_;
}

void Motion::slow_down(uint32_t now_us) {
    outputs_.valves = outputs_.meters = 0;
    outputs_.meter_hz = 0;
    from_hz_ = outputs_.drive_hz;
    ramp_began_us_ = now_us;
    pace_ = Pace::slower;
}

void Motion::cut() {
    outputs_ = Outputs();
    pace_ = Pace::rest;
}

} // namespace controller
} // namespace dropledger
