#include "bench/capture/converter.hpp"

#include "analysis/base/cases.hpp"

#include <algorithm>
#include <utility>

namespace dropledger::capture {

namespace {

constexpr std::int64_t longest_pulse_ps = 45'000 * ps_per_us;
constexpr std::int64_t blocked_after_ps = 250'000 * ps_per_us;
// Lines are written so long after they are known: pulses are told at their end, drops need travel
// up to their landing.
constexpr std::int64_t least_hold_ps = 100'000 * ps_per_us;

std::int64_t hold_for(const Wiring& wiring, const DropSettings& drops) {
    std::int64_t longest_us = 0;
    for (const auto& [channel, lead_us] : drops.lead_us)
        longest_us = std::max(longest_us, lead_us);
    for (const GateWire& gate : wiring.gates)
        longest_us = std::max(longest_us, gate.glitch_us);
    return least_hold_ps + (longest_us + most_glitch_us) * ps_per_us;
}

} // namespace

Converter::Converter(const Wiring& wiring, const DropSettings& drops, std::int64_t step_ps,
                     droplog::Writer& writer)
    : step_ps_(step_ps), hold_ps_(hold_for(wiring, drops)), course_(wiring.travel),
      lines_(writer, course_) {
    inputs_.assign(wiring.wires.size(), {.level = SteadyLevel{0}, .on_edge = {}, .channel = -1});
    beams_.reserve(wiring.gates.size()); // inputs keep references to them
    for (const GateWire& wire : wiring.gates)
        add_beam(wire);
    for (const CommandWire& wire : wiring.commands)
        add_command(wire, drops);
    add_travel(wiring.travel);
}

void Converter::begin(std::string_view boot) {
    lines_.begin(boot, channels_);
}

void Converter::add_beam(const GateWire& wire) {
    channels_ = std::max(channels_, wire.channel + 1);
    counts_.channels[wire.channel];
    Beam& beam = beams_.emplace_back(Beam{.channel = wire.channel,
                                          .gate = wire.gate,
                                          .wire = wire.wire,
                                          .dark_high = wire.dark_high,
                                          .dark_since_ps = std::nullopt,
                                          .blocked_at_ps = std::nullopt});
    inputs_[wire.wire] = {
        .level = SteadyLevel{wire.glitch_us * ps_per_us},
        .on_edge = [this, &beam](SteadyLevel::Edge edge) { beam_edge(beam, edge); },
        .channel = wire.channel};
}

void Converter::add_command(const CommandWire& wire, const DropSettings& drops) {
    channels_ = std::max(channels_, wire.channel + 1);
    const auto lead = drops.lead_us.find(wire.channel);
    const Commanded drop{.channel = wire.channel,
                         .lead_ps = lead == drops.lead_us.end() ? 0 : lead->second * ps_per_us,
                         .seeds = drops.seeds};
    ChannelCounts& counts = counts_.channels[wire.channel];
    inputs_[wire.wire] = {.level = SteadyLevel{wire.glitch_us * ps_per_us},
                          .on_edge =
                              [this, drop, &counts, rising = wire.rising](SteadyLevel::Edge edge) {
                                  if (edge.high != rising)
                                      return;
                                  ++counts.drops;
                                  lines_.add(edge.at_ps, drop);
                              },
                          .channel = wire.channel};
}

void Converter::add_travel(const TravelWiring& wiring) {
    std::visit(Cases{[](const StatedSpeed&) {},
                     [this](const Encoder& encoder) {
                         for (const bool of_a : {true, false})
                             inputs_[of_a ? encoder.a : encoder.b].on_edge =
                                 [this, encoder, of_a](SteadyLevel::Edge edge) {
                                     encoder_edge(encoder, of_a, edge);
                                 };
                     },
                     [this](const LengthPulses& pulses) {
                         inputs_[pulses.wire].on_edge = [this, pulses](SteadyLevel::Edge edge) {
                             if (edge.high)
                                 course_.step(edge.at_ps, pulses.um_per_pulse);
                         };
                     }},
               wiring);
}

void Converter::encoder_edge(const Encoder& encoder, bool of_a, SteadyLevel::Edge edge) {
    const auto a = inputs_[encoder.a].level.level();
    const auto b = inputs_[encoder.b].level.level();
    if (!a || !b)
        return;
    if (encoder_edge_ps_ == edge.at_ps && counts_.steps_lost++ == 0)
        lines_.add(edge.at_ps, Trouble{.channel = -1, .code = "encoder_skipped"});
    encoder_edge_ps_ = edge.at_ps;
    course_.step(edge.at_ps, quadrature_count(of_a, *a, *b) * encoder.um_per_count);
}

void Converter::beam_edge(Beam& beam, SteadyLevel::Edge edge) {
    if (edge.high == beam.dark_high) {
        beam.dark_since_ps = edge.at_ps;
        beam.told = false;
        beam.blocked_at_ps = edge.at_ps + blocked_after_ps;
        due_ps_ = std::min(due_ps_, edge.at_ps + longest_pulse_ps);
        return;
    }
    if (beam.dark_since_ps && !beam.told)
        pulse(beam, edge.at_ps - *beam.dark_since_ps);
    beam.dark_since_ps.reset();
    beam.blocked_at_ps.reset();
}

void Converter::pulse(const Beam& beam, std::int64_t width_ps) {
    ChannelCounts& counts = counts_.channels[beam.channel];
    const auto gate = static_cast<std::size_t>(beam.gate);
    ++counts.pulses.at(gate);
    counts.thin.at(gate) += width_ps <= 2 * step_ps_ ? 1 : 0;
    lines_.add(*beam.dark_since_ps, Dark{.channel = beam.channel,
                                         .gate = beam.gate,
                                         .width_ps = std::min(width_ps, longest_pulse_ps)});
}

void Converter::watch_beams(std::int64_t now_ps) {
    for (Beam& beam : beams_) {
        if (beam.dark_since_ps && !beam.told) {
            if (now_ps - *beam.dark_since_ps >= longest_pulse_ps) {
                pulse(beam, longest_pulse_ps);
                beam.told = true;
            } else {
                due_ps_ = std::min(due_ps_, *beam.dark_since_ps + longest_pulse_ps);
            }
        }
        if (!beam.blocked_at_ps)
            continue;
        if (now_ps >= *beam.blocked_at_ps) {
            ++counts_.channels[beam.channel].blocked;
            lines_.add(*beam.blocked_at_ps,
                       Trouble{.channel = beam.channel,
                               .code = name_of(droplog::FaultCode::gate_blocked)});
            beam.blocked_at_ps.reset();
        } else {
            due_ps_ = std::min(due_ps_, *beam.blocked_at_ps);
        }
    }
}

void Converter::settle(std::int64_t now_ps) {
    for (Input& input : inputs_) {
        if (const auto edge = input.level.settled(now_ps); edge && input.on_edge)
            input.on_edge(*edge);
        due_ps_ = std::min(due_ps_, input.level.due_ps());
    }
}

Status Converter::until(std::int64_t at_ps) {
    if (at_ps >= due_ps_) {
        due_ps_ = never_ps;
        settle(at_ps);
        watch_beams(at_ps);
    }
    if (at_ps > hold_ps_)
        lines_.write_until(at_ps - hold_ps_);
    return Done{};
}

Status Converter::change(const Change& change) {
    if (Status known = until(change.at_ps); !known)
        return known;
    Input& input = inputs_[change.wire];
    const bool first = !input.level.level();
    input.level.take(change.high, change.at_ps);
    if (first)
        begin_level(change);
    else
        due_ps_ = std::min(due_ps_, input.level.due_ps());
    return Done{};
}

// A beam that is dark when the capture begins was interrupted by nobody knows what, and when.
void Converter::begin_level(const Change& change) {
    for (Beam& beam : beams_)
        if (beam.wire == change.wire && beam.dark_high == change.high) {
            beam.blocked_at_ps = change.at_ps + blocked_after_ps;
            due_ps_ = std::min(due_ps_, *beam.blocked_at_ps);
        }
}

void Converter::end(std::int64_t at_ps) {
    due_ps_ = never_ps;
    settle(at_ps);
    watch_beams(at_ps);
    counts_.travelled_um = course_.position_um(at_ps);
    lines_.end(at_ps);
    for (const Input& input : inputs_)
        if (input.channel >= 0)
            counts_.channels[input.channel].glitches += input.level.glitches();
}

} // namespace dropledger::capture
