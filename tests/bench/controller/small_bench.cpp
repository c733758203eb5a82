#include "small_bench.hpp"

#include "analysis/droplog/line.hpp"

#include <algorithm>
#include <cmath>

namespace dropledger::controller {

namespace {

std::uint16_t beam(std::uint8_t gate) {
    return static_cast<std::uint16_t>(1U << gate);
}

} // namespace

Setup a_setup() {
    Setup setup;
    setup.firmware = "dropledger-controller%201%20test";
    for (std::uint8_t channel = 0; channel < most_channels; ++channel)
        setup.lead_us[channel] = 80000 + 2000U * channel;
    return setup;
}

SmallBench::SmallBench(std::uint16_t room, const char* boot)
    : setup_(a_setup()), room_(room), controller_(setup_, {room_.data(), room}, boot, 0) {
}

void SmallBench::hear(std::string_view bytes) {
    for (const char byte : bytes)
        controller_.hear(byte, now_us_);
}

void SmallBench::send(const std::string& body) {
    hear(droplog::encode(body) + "\n");
}

void SmallBench::advance(std::uint32_t us) {
    for (std::uint32_t passed = 0; passed < us; passed += step_us)
        step();
}

void SmallBench::step() {
    now_us_ += step_us;
    move();
    fall();
    controller_.step({.estop = estop,
                      .guard = guard,
                      .encoder_skipped = encoder_skipped,
                      .counts = counts_,
                      .meter_steps = meter_steps_},
                     now_us_);
    const Outputs& outputs = controller_.outputs();
    for (std::uint8_t channel = 0; channel < most_channels; ++channel)
        if ((unsigned{outputs.valves} >> channel & 1U) > (unsigned{valves_} >> channel & 1U))
            open(channel);
    valves_ = outputs.valves;
    controller_.tell(now_us_);
}

void SmallBench::move() {
    const Outputs& outputs = controller_.outputs();
    const double seconds = step_us / 1e6;
    meter_steps_made_ += outputs.meter_hz * seconds;
    meter_steps_ = static_cast<std::uint32_t>(meter_steps_made_);
    if (!outputs.drive || belt_slips)
        return;
    const double moved_um = outputs.drive_hz * seconds * setup_.nm_per_drive_step / 1000.0 *
                            (1.0 + ripple * std::sin(position_um_ / 50000.0));
    position_um_ += moved_um;
    const double um_per_count = setup_.nm_per_count / 1000.0;
    const auto count = static_cast<std::int32_t>(std::floor(position_um_ / um_per_count));
    if (count == counts_.count)
        return;
    const double since_um = position_um_ - count * um_per_count;
    counts_ = {.count = count,
               .at_us = now_us_ - static_cast<std::uint32_t>(step_us * since_um / moved_um)};
}

void SmallBench::open(std::uint8_t channel) {
    openings_.push_back({now_us_, channel, position_um_});
    for (std::uint8_t gate = 0; gate < 2; ++gate) {
        const std::uint32_t at_us = now_us_ + fall_us[gate] + 10U * channel;
        const auto which = static_cast<std::uint8_t>(channel + gate * most_channels);
        edges_.push_back({at_us, which, true});
        edges_.push_back({at_us + dark_us, which, false});
    }
    std::stable_sort(edges_.begin(), edges_.end(),
                     [](const Edge& a, const Edge& b) { return a.at_us < b.at_us; });
}

void SmallBench::fall() {
    for (; !edges_.empty() && edges_.front().at_us <= now_us_; edges_.pop_front()) {
        const Edge& edge = edges_.front();
        dark_ = static_cast<std::uint16_t>(edge.dark ? dark_ | beam(edge.gate)
                                                     : dark_ & ~beam(edge.gate));
        controller_.see({edge.at_us, static_cast<std::uint16_t>(dark_ | blocked)});
    }
    controller_.see({now_us_, static_cast<std::uint16_t>(dark_ | blocked)});
}

std::string SmallBench::take() {
    std::string bytes;
    LineText line;
    while (controller_.next_line(line))
        bytes.append(line.bytes(), line.size());
    return bytes;
}

std::vector<std::string> SmallBench::take_lines() {
    std::vector<std::string> lines;
    LineText line;
    while (controller_.next_line(line))
        lines.emplace_back(line.bytes(), line.size() - 1U);
    return lines;
}

} // namespace dropledger::controller
