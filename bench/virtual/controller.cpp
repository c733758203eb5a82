#include "bench/virtual/controller.hpp"

#include "analysis/base/text.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <limits>
#include <utility>

namespace dropledger::bench_virtual {

namespace {

using droplog::FaultCode;
using droplog::HaltReason;
using droplog::RefusedCode;

constexpr std::int64_t beat_every_us = 900000;
constexpr std::int64_t patience_us = 2000000; // without `alive` while armed or running
constexpr std::int64_t not_due = std::numeric_limits<std::int64_t>::max();
constexpr std::int64_t least_spacing_um = 1000;
constexpr std::int64_t most_spacing_um = 10000000;
constexpr std::int64_t least_speed_um_s = 10000;
constexpr std::int64_t most_speed_um_s = 5000000;
constexpr std::int64_t most_seeds = 50;
constexpr std::int64_t most_drops = 1000000000;

bool between(std::int64_t value, std::int64_t low, std::int64_t high) {
    return value >= low && value <= high;
}

// `arm,MODE,SPACING_UM,COUNT,SPEED_UM_S,CHANNEL_MASK,DROPS`; nothing where a field does not parse.
std::optional<Order> order_of(const std::vector<std::string_view>& fields) {
    if (fields.size() != 7)
        return std::nullopt;
    const auto spacing = parse_int(fields.at(2));
    const auto count = parse_int(fields.at(3));
    const auto speed = parse_int(fields.at(4));
    const auto mask = parse_uint(fields.at(5));
    const auto drops = parse_int(fields.at(6));
    if (!spacing || !count || !speed || !mask || !drops ||
        *mask > std::numeric_limits<std::uint32_t>::max())
        return std::nullopt;
    return Order{.mode = droplog::mode_of(fields.at(1)).value_or(Mode::single),
                 .spacing_um = *spacing,
                 .count = *count,
                 .speed_um_s = *speed,
                 .channel_mask = static_cast<std::uint32_t>(*mask),
                 .drops = *drops};
}

// Why a run ends for this fault; nothing where it goes on. A scenario may have codes of its own.
std::optional<HaltReason> halts_for(std::optional<FaultCode> code) {
    if (code == FaultCode::estop)
        return HaltReason::estop;
    if (code == FaultCode::guard)
        return HaltReason::guard;
    if (code == FaultCode::host_silent)
        return HaltReason::host_silent;
    if (code == FaultCode::motor_stall)
        return HaltReason::fault;
    return std::nullopt;
}

} // namespace

Controller::Controller(const Scenario& scenario, Now now)
    : scenario_(scenario), buffer_(static_cast<std::size_t>(scenario.buffer_lines)) {
    start_up(now);
}

void Controller::start_up(Now now) {
    Random names(scenario_.seed, 2000 + boots_);
    boot_ = fmt::format("{:016X}-{}", names.bits(), boots_++);
    booted_us_ = now.bench_us;
    next_beat_us_ = now.bench_us + beat_every_us;
    say_hello(now.bench_us);
}

void Controller::reset(Now now) {
    if (physics_) {
        physics_->stop(now.bench_us - go_us_);
        while (physics_->peek() != nullptr)
            physics_->pop();
        collect_truths();
        physics_.reset();
    }
    state_ = State::idle;
    halted_seq_.reset();
    buffer_ = LineBuffer(static_cast<std::size_t>(scenario_.buffer_lines));
    start_up(now);
}

droplog::Stamp Controller::stamp(std::int64_t at_us) const {
    const auto since_boot = static_cast<std::uint64_t>(at_us - booted_us_);
    return {.seq = buffer_.next_seq(),
            .tick_us = static_cast<std::uint32_t>(scenario_.tick_start + since_boot)};
}

void Controller::say_hello(std::int64_t at_us) {
    buffer_.keep(
        droplog::hello_line(stamp(at_us),
                            {.protocol = 1,
                             .boot = boot_,
                             .channels = static_cast<std::uint32_t>(scenario_.channels.size()),
                             .firmware = percent_encode(name_of_bench(scenario_))}),
        Weight::must_get_through);
}

void Controller::say_state(const char* name, std::string_view detail, std::int64_t at_us) {
    buffer_.keep(droplog::state_line(stamp(at_us), name, detail), Weight::must_get_through);
}

void Controller::refuse(RefusedCode code, Now now) {
    say_state("refused", droplog::name_of(code), now.bench_us);
}

void Controller::receive(std::string_view line, Now now) {
    advance(now);
    if (!line.empty() && line.back() == '\r')
        line.remove_suffix(1);
    if (line.size() >= droplog::longest_line)
        return refuse(RefusedCode::length, now);
    const auto body = droplog::checked_body(line);
    if (!body)
        return refuse(RefusedCode::crc, now);
    carry_out(droplog::fields_of(*body), now);
}

void Controller::carry_out(const Fields& fields, Now now) {
    const std::string_view name = fields.front();
    if (name == "arm")
        return arm(fields, now);
    if (name == "ack" || name == "resend")
        return acknowledge_or_resend(fields, now);
    const bool known = name == "hello" || name == "go" || name == "halt" || name == "alive";
    if (!known || fields.size() != 1)
        return refuse(known ? RefusedCode::syntax : RefusedCode::unknown, now);
    if (name == "hello")
        say_hello(now.bench_us);
    else if (name == "go")
        go(now);
    else if (name == "halt")
        halt(now);
    else
        alive_host_us_ = now.host_us;
}

void Controller::acknowledge_or_resend(const Fields& fields, Now now) {
    const auto seq = fields.size() == 2 ? parse_uint(fields.at(1)) : std::nullopt;
    if (!seq || *seq > std::numeric_limits<std::uint32_t>::max())
        return refuse(RefusedCode::syntax, now);
    const auto number = static_cast<std::uint32_t>(*seq);
    if (fields.front() == "ack") {
        if (!acknowledge(number))
            refuse(RefusedCode::seq, now);
        return;
    }
    switch (buffer_.resend(number)) {
    case Resend::again:
        return;
    case Resend::gone:
        return refuse(RefusedCode::gone, now);
    case Resend::unknown:
        return refuse(RefusedCode::seq, now);
    }
}

std::optional<RefusedCode> Controller::reason_against(const Order& order) const {
    if (estop_ || guard_)
        return estop_ ? RefusedCode::estop : RefusedCode::guard;
    if (!between(order.spacing_um, least_spacing_um, most_spacing_um))
        return RefusedCode::spacing;
    const std::int64_t most = order.mode == Mode::single ? 1 : most_seeds;
    if (!between(order.count, 1, most))
        return RefusedCode::count;
    if (!between(order.speed_um_s, least_speed_um_s, most_speed_um_s))
        return RefusedCode::speed;
    if (order.channel_mask == 0 || (order.channel_mask >> scenario_.channels.size()) != 0)
        return RefusedCode::channels;
    if (!between(order.drops, 0, most_drops))
        return RefusedCode::drops;
    return std::nullopt;
}

void Controller::arm(const Fields& fields, Now now) {
    if (state_ != State::idle)
        return refuse(RefusedCode::state, now);
    const auto order = order_of(fields);
    if (!order)
        return refuse(RefusedCode::syntax, now);
    if (!droplog::mode_of(fields.at(1)))
        return refuse(RefusedCode::mode, now);
    if (const auto reason = reason_against(*order))
        return refuse(*reason, now);
    order_ = *order;
    state_ = State::armed;
    alive_host_us_ = now.host_us;
    say_state("armed", "", now.bench_us);
}

void Controller::go(Now now) {
    if (state_ != State::armed)
        return refuse(RefusedCode::state, now);
    physics_ = std::make_unique<Physics>(scenario_, order_, static_cast<std::uint64_t>(runs_));
    if (!keeps_truths_)
        physics_->forget_truths();
    ++runs_;
    go_us_ = now.bench_us;
    first_go_us_ = first_go_us_.value_or(go_us_);
    halted_seq_.reset();
    next_scripted_ = 0;
    stop_reason_ = HaltReason::count;
    state_ = State::running;
    say_state("started", "", now.bench_us);
}

// A halt that comes while halting is already under way has been carried out.
void Controller::halt(Now now) {
    if (state_ == State::idle)
        return refuse(RefusedCode::state, now);
    stop(HaltReason::host, now.bench_us);
}

void Controller::stop(HaltReason reason, std::int64_t at_us) {
    if (state_ == State::armed) {
        state_ = State::idle;
        say_state("halted", droplog::name_of(reason), at_us);
    } else if (state_ == State::running) {
        state_ = State::stopping;
        stop_reason_ = reason;
        physics_->stop(at_us - go_us_);
    }
}

void Controller::fault(int channel, std::string_view code, std::int64_t at_us) {
    buffer_.keep(droplog::fault_line(stamp(at_us), channel, code), Weight::must_get_through);
    if (const auto reason = halts_for(droplog::fault_code_of(code)))
        stop(*reason, at_us);
}

void Controller::press_estop(Now now) {
    advance(now);
    estop_ = true;
    fault(-1, droplog::name_of(FaultCode::estop), now.bench_us);
}

void Controller::open_guard(Now now) {
    advance(now);
    guard_ = true;
    fault(-1, droplog::name_of(FaultCode::guard), now.bench_us);
}

void Controller::make_safe() {
    estop_ = false;
    guard_ = false;
}

std::int64_t Controller::scripted_due_us() const {
    if (state_ != State::running || next_scripted_ >= scenario_.faults.size())
        return not_due;
    return go_us_ + static_cast<std::int64_t>(scenario_.faults.at(next_scripted_).at_s * 1e6);
}

std::int64_t Controller::physics_due_us() {
    if (!physics_)
        return not_due;
    const Event* const event = physics_->peek();
    return go_us_ + (event != nullptr ? event->send_us : physics_->end_us().value_or(0));
}

std::int64_t Controller::next_due_us() {
    return std::min({next_beat_us_, scripted_due_us(), physics_due_us()});
}

void Controller::advance(Now now) {
    while (next_due_us() <= now.bench_us)
        run_on(next_due_us());
    const bool listening = state_ == State::armed || state_ == State::running;
    if (listening && now.host_us - alive_host_us_ > patience_us)
        fault(-1, droplog::name_of(FaultCode::host_silent), now.bench_us);
}

void Controller::run_on(std::int64_t bench_us) {
    if (next_beat_us_ <= bench_us) {
        buffer_.keep(droplog::beat_line(stamp(next_beat_us_), buffer_.backlog(), buffer_.lost()),
                     Weight::ordinary);
        next_beat_us_ += beat_every_us;
    } else if (scripted_due_us() <= bench_us) {
        const ScriptedFault& scripted = scenario_.faults.at(next_scripted_++);
        fault(static_cast<int>(scripted.channel), scripted.code, bench_us);
    } else if (const Event* const event = physics_->peek()) {
        emit(*event);
        physics_->pop();
        collect_truths();
    } else {
        end_run(bench_us);
    }
}

void Controller::end_run(std::int64_t at_us) {
    collect_truths();
    physics_.reset();
    state_ = State::idle;
    halted_seq_ = buffer_.next_seq();
    say_state("halted", droplog::name_of(stop_reason_), at_us);
}

bool Controller::run_is_delivered() const {
    return state_ == State::idle && halted_seq_ && buffer_.acknowledged() > *halted_seq_;
}

void Controller::emit(const Event& event) {
    const droplog::Stamp at = stamp(go_us_ + event.at_us);
    switch (event.kind) {
    case EventKind::travel:
        return buffer_.keep(droplog::travel_line(at, event.position_um), Weight::ordinary);
    case EventKind::drop:
        return buffer_.keep(droplog::drop_line(at, {.channel = event.channel,
                                                    .index = event.index,
                                                    .position_um = event.position_um,
                                                    .count = event.count}),
                            Weight::ordinary);
    case EventKind::pulse:
        return emit_pulse(event);
    }
}

void Controller::emit_pulse(const Event& event) {
    const droplog::Stamp at = stamp(go_us_ + event.at_us);
    const UnitSpec& unit = scenario_.channels.at(static_cast<std::size_t>(event.channel));
    const auto channel =
        static_cast<decltype(event.channel)>(unit.gates_on.value_or(event.channel));
    if (keeps_pulse_truths_)
        pulse_truths_.push_back({.boot = boot_,
                                 .seq = at.seq,
                                 .channel = channel,
                                 .gate = event.gate,
                                 .seeds = event.true_seeds});
    buffer_.keep(droplog::pulse_line(at, {.channel = channel,
                                          .gate = event.gate,
                                          .width_us = event.width_us,
                                          .depth_milli = event.depth_milli}),
                 Weight::ordinary);
}

void Controller::collect_truths() {
    for (Truth& truth : physics_->take_truths())
        truths_.push_back({.run = runs_ - 1, .truth = std::move(truth)});
}

std::vector<std::string> Controller::take_lines() {
    std::vector<std::string> lines;
    hand_over([&](std::string_view line) { lines.emplace_back(line); });
    return lines;
}

std::vector<RunTruth> Controller::take_truths() {
    return std::exchange(truths_, {});
}

std::vector<PulseTruth> Controller::take_pulse_truths() {
    return std::exchange(pulse_truths_, {});
}

} // namespace dropledger::bench_virtual
