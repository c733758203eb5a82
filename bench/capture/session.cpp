#include "bench/capture/session.hpp"

#include "analysis/base/cases.hpp"
#include "analysis/base/text.hpp"
#include "analysis/droplog/run_id.hpp"
#include "analysis/droplog/settings.hpp"

#include <fmt/format.h>

#include <cmath>
#include <string_view>
#include <utility>

namespace dropledger::capture {

namespace {

constexpr std::size_t enough_changes = 10'000; // to tell the step between samples from
constexpr std::int64_t enough_samples = 4;     // of the shortest pulse
constexpr double many_thin = 0.01;             // of the pulses

double us(std::int64_t ps) {
    return static_cast<double>(ps) / static_cast<double>(ps_per_us);
}

droplog::CapturedTravel kind_of(const TravelWiring& travel) {
    using droplog::CapturedTravel;
    return std::visit(Cases{[](const StatedSpeed&) { return CapturedTravel::stated_speed; },
                            [](const Encoder&) { return CapturedTravel::encoder; },
                            [](const LengthPulses&) { return CapturedTravel::length_pulses; }},
                      travel);
}

std::string text_of(const droplog::Settings& settings) {
    std::string text;
    for (const auto& [key, value] : settings)
        text += fmt::format("{}={}\n", key, value);
    return text;
}

std::string identity(const Request& request, const std::string& sha256) {
    std::string text = sha256 + "\n" + request.wiring_text + "\n" + request.head.started + "\n" +
                       text_of(request.head.run);
    for (const auto& [channel, settings] : request.head.channels)
        text += fmt::format("{}\n{}", channel, text_of(settings));
    return droplog::run_id_of(text);
}

} // namespace

Session::Session(const Request& request, std::string sha256)
    : request_(request), sha256_(std::move(sha256)), run_id_(identity(request, sha256_)),
      writer_(request.sink) {
    if (const auto rate_hz = request.wiring.sample_rate_hz)
        step_ps_ =
            std::max<std::int64_t>(std::llround(static_cast<double>(ps_per_s) / *rate_hz), 1);
}

Status Session::until(std::int64_t at_ps) {
    origin_ps_ = origin_ps_.value_or(at_ps);
    return converter_ ? converter_->until(at_ps - *origin_ps_) : Status{Done{}};
}

Status Session::change(const Change& change) {
    origin_ps_ = origin_ps_.value_or(change.at_ps);
    Change own = change;
    own.at_ps -= *origin_ps_;
    seen_.take(own.at_ps);
    if (converter_)
        return converter_->change(own);
    early_.push_back(own);
    return early_.size() < enough_changes ? Status{Done{}} : begin();
}

Status Session::begin() {
    if (step_ps_ == 0)
        step_ps_ = seen_.step_ps();
    if (Status close_enough = check_step(); !close_enough)
        return close_enough;
    write_head();
    converter_ = std::make_unique<Converter>(request_.wiring, drop_settings(), step_ps_, writer_);
    converter_->begin("capture-" + run_id_.substr(0, 8));
    for (const Change& change : std::exchange(early_, {}))
        if (Status taken = converter_->change(change); !taken)
            return taken;
    return Done{};
}

Status Session::check_step() const {
    if (step_ps_ == 0)
        return input_error(request_.where, "nothing changes on the wired signals",
                           "see to the probes, and to the names in the wiring file");
    const std::int64_t shortest_ps = request_.wiring.shortest_dark_us * ps_per_us;
    if (step_ps_ > shortest_ps)
        return input_error(
            request_.where,
            fmt::format("one sample is {:g} us, and a seed may be dark for {} us only: seeds fall "
                        "between the samples",
                        us(step_ps_), request_.wiring.shortest_dark_us),
            "capture at a higher sample rate, ten times as fast as the shortest pulse");
    return Done{};
}

DropSettings Session::drop_settings() const {
    DropSettings drops;
    for (const auto& [channel, settings] : request_.head.channels)
        if (const auto lead_us = request_.head.number(channel, "lead_us"))
            drops.lead_us[channel] = *lead_us;
    drops.seeds = static_cast<std::uint32_t>(request_.head.number("count").value_or(1));
    return drops;
}

void Session::write_head() {
    writer_.start(run_id_, request_.head.started);
    for (const auto& [key, value] : request_.head.run)
        writer_.set(key, value);
    for (const auto& [key, value] : request_.counted)
        writer_.set(key, value);
    writer_.set("capture_sha256", sha256_);
    writer_.set("capture_step_ps", std::to_string(step_ps_));
    writer_.set("capture_travel", droplog::name_of(kind_of(request_.wiring.travel)));
    for (const auto& [channel, settings] : request_.head.channels)
        for (const auto& [key, value] : settings)
            writer_.channel_set(channel, key, value);
    for (const GateWire& gate : request_.wiring.gates)
        writer_.note(fmt::format("wired: channel {} gate {} is signal {}, dark when {}, glitches "
                                 "under {} us left out",
                                 gate.channel, gate.gate, request_.wiring.wires[gate.wire],
                                 gate.dark_high ? "high" : "low", gate.glitch_us));
    for (const CommandWire& command : request_.wiring.commands)
        writer_.note(fmt::format("wired: channel {} is commanded by signal {}, {} edge",
                                 command.channel, request_.wiring.wires[command.wire],
                                 command.rising ? "rising" : "falling"));
}

void Session::write_foot(const Captured& captured) {
    writer_.note(fmt::format("captured: {} changes in {:.3f} s, one sample is {:g} us{}",
                             captured.extent.changes, us(captured.extent.last_ps) / 1e6,
                             us(step_ps_), captured.step_stated ? " (stated)" : ""));
    for (const std::string& doubt : captured.doubts)
        writer_.note(doubt);
}

std::vector<std::string> Session::doubts(const Captured& captured) const {
    std::vector<std::string> found;
    const std::int64_t shortest_ps = request_.wiring.shortest_dark_us * ps_per_us;
    if (step_ps_ * enough_samples > shortest_ps)
        found.push_back(
            fmt::format("One sample is {:g} us: the shortest pulse stated, {} us, lasts "
                        "fewer than {} samples, so widths are coarse.",
                        us(step_ps_), request_.wiring.shortest_dark_us, enough_samples));
    for (const auto& [channel, counts] : captured.counts.channels)
        for (std::size_t gate = 0; gate < counts.pulses.size(); ++gate)
            if (static_cast<double>(counts.thin[gate]) >
                many_thin * static_cast<double>(counts.pulses[gate]))
                found.push_back(fmt::format("Channel {}, gate {}: {} of {} pulses last two samples "
                                            "at most; others may have "
                                            "fallen between samples.",
                                            channel, gate, counts.thin[gate], counts.pulses[gate]));
    if (captured.counts.steps_lost > 0)
        found.push_back(
            fmt::format("Both signals of the encoder changed within one sample {} times: "
                        "travel may be short.",
                        captured.counts.steps_lost));
    return found;
}

Result<Captured> Session::finish(const Extent& extent) {
    if (!converter_)
        if (Status begun = begin(); !begun)
            return begun.error();
    Captured captured;
    captured.run_id = run_id_;
    captured.sha256 = sha256_;
    captured.extent = extent;
    captured.extent.last_ps -= *origin_ps_;
    captured.extent.first_ps = 0;
    captured.step_ps = step_ps_;
    captured.step_stated = request_.wiring.sample_rate_hz.has_value();
    if (!captured.step_stated && seen_.step_ps() < step_ps_)
        return input_error(request_.where, "its times do not lie an even step apart",
                           "say `sample_rate_hz` under [capture] in the wiring file");
    converter_->end(captured.extent.last_ps);
    captured.counts = converter_->counts();
    captured.doubts = doubts(captured);
    write_foot(captured);
    writer_.close("captured", request_.key);
    return captured;
}

} // namespace dropledger::capture
