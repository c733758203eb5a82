#include "bench/capture/log_lines.hpp"

#include "analysis/base/cases.hpp"
#include "bench/capture/formats/change.hpp"

#include <algorithm>
#include <cmath>
#include <utility>

namespace dropledger::capture {

namespace {

constexpr std::int64_t travel_every_ps = 50'000 * ps_per_us;

std::int64_t whole_um(double um) {
    return std::llround(um);
}

} // namespace

droplog::Stamp LogLines::stamp(std::int64_t at_ps) {
    return {.seq = next_seq_++, .tick_us = static_cast<std::uint32_t>(at_ps / ps_per_us)};
}

void LogLines::begin(std::string_view boot, int channels) {
    writer_.controller(
        droplog::hello_line(stamp(0), {.boot = std::string(boot),
                                       .channels = static_cast<std::uint32_t>(channels),
                                       .firmware = "capture"}));
    writer_.controller(droplog::state_line(stamp(0), "started", ""));
}

void LogLines::add(std::int64_t at_ps, std::variant<Commanded, Dark, Trouble> what) {
    ahead_.push({at_ps, added_++, what});
}

void LogLines::write_travel(std::int64_t at_ps) {
    writer_.controller(droplog::travel_line(stamp(at_ps), whole_um(course_.position_um(at_ps))));
    course_.forget_before(at_ps);
}

void LogLines::write(const Happening& one) {
    std::visit(
        Cases{[&](const Commanded& drop) {
                  const double meant_um = course_.position_um(one.at_ps + drop.lead_ps);
                  writer_.controller(
                      droplog::drop_line(stamp(one.at_ps), {.channel = drop.channel,
                                                            .index = next_index_[drop.channel]++,
                                                            .position_um = whole_um(meant_um),
                                                            .count = drop.seeds}));
              },
              [&](const Dark& dark) {
                  const std::int64_t width_us = (dark.width_ps + ps_per_us / 2) / ps_per_us;
                  writer_.controller(droplog::pulse_line(
                      stamp(one.at_ps),
                      {.channel = dark.channel,
                       .gate = static_cast<std::uint32_t>(dark.gate),
                       .width_us = static_cast<std::uint32_t>(std::max<std::int64_t>(width_us, 1)),
                       .depth_milli = 0}));
              },
              [&](const Trouble& trouble) {
                  writer_.controller(
                      droplog::fault_line(stamp(one.at_ps), trouble.channel, trouble.code));
              }},
        one.what);
}

void LogLines::write_until(std::int64_t at_ps) {
    for (;;) {
        const bool event_next = !ahead_.empty() && ahead_.top().at_ps < next_travel_ps_;
        const std::int64_t next_ps = event_next ? ahead_.top().at_ps : next_travel_ps_;
        if (next_ps > at_ps)
            return;
        if (event_next) {
            write(ahead_.top());
            ahead_.pop();
        } else {
            write_travel(next_travel_ps_);
            next_travel_ps_ += travel_every_ps;
        }
    }
}

void LogLines::end(std::int64_t at_ps) {
    write_until(at_ps);
    write_travel(at_ps);
    writer_.controller(
        droplog::state_line(stamp(at_ps), "halted", name_of(droplog::HaltReason::host)));
}

} // namespace dropledger::capture
