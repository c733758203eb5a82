#include "bench/recorder/protocol.hpp"

#include "analysis/base/text.hpp"
#include "bench/recorder/recovery.hpp"
#include "bench/recorder/words.hpp"

#include <fmt/format.h>

#include <utility>

namespace dropledger::recorder {

namespace {

using droplog::LineName;

constexpr std::uint32_t spoken_protocol = 1;
constexpr int refusals_in_earnest =
    3; // one may be the answer to a line that was damaged on the way

// The text of a field of a line that has passed its check; empty where it is not there.
std::string field(std::string_view line, std::size_t index) {
    const auto body = droplog::checked_body(line);
    if (!body)
        return {};
    const auto fields = droplog::fields_of(*body);
    return index < fields.size() ? percent_decode(fields[index]).value_or("") : std::string{};
}

std::string reason_or_halted(const std::string& reason) {
    return reason.empty() ? "halted" : reason;
}

constexpr std::size_t boot_field = 4;
constexpr std::size_t detail_field = 3; // halted, refused
constexpr std::size_t code_field = 4;   // fault

Error controller_trouble(std::string what, std::string remedy) {
    return {ErrorKind::device, "controller", std::move(what), std::move(remedy)};
}

} // namespace

Protocol::Protocol(ArmOrder order, const Timings& timings)
    : order_(std::move(order)), timings_(timings), arrivals_(timings.resend) {
}

void Protocol::restore(const Recovered& found) {
    continues_ = found.next.has_value();
    state_ = found.state;
    if (found.next)
        arrivals_.restore(found.boot, *found.next);
    if (state_ == ControllerState::halted)
        end_reason_ = reason_or_halted(found.halt_reason);
}

std::vector<Action> Protocol::take_actions() {
    return std::exchange(actions_, {});
}

void Protocol::act(ActionKind kind, std::string text) {
    actions_.push_back({kind, std::move(text), {}});
}

void Protocol::send(std::string_view body, Microseconds now) {
    sent_at_ = now;
    act(ActionKind::send, droplog::encode(body));
}

void Protocol::enter(Phase phase, Microseconds now) {
    phase_ = phase;
    entered_at_ = now;
    refusals_ = 0;
    if (const std::string order = order_of_phase(); !order.empty()) {
        sent_at_ = now;
        act(ActionKind::send, order);
    }
}

// What is sent on entering a phase, and again until it is answered.
std::string Protocol::order_of_phase() const {
    switch (phase_) {
    case Phase::greeting:
        return droplog::encode("hello");
    case Phase::arming:
        return arm_line(order_);
    case Phase::starting:
        return droplog::encode("go");
    case Phase::halting:
        return droplog::encode("halt");
    case Phase::checking:
    case Phase::running:
    case Phase::settling:
    case Phase::over:
        break;
    }
    return {};
}

void Protocol::end(std::string reason, std::optional<Error> trouble) {
    phase_ = Phase::over;
    if (end_reason_.empty())
        end_reason_ = std::move(reason);
    if (!trouble_)
        trouble_ = std::move(trouble);
}

void Protocol::give_up(std::string reason, Error trouble) {
    resumable_ = true;
    end(std::move(reason), std::move(trouble));
}

void Protocol::link_up(Microseconds now) {
    const bool still_greeting = linked_before_ && phase_ == Phase::greeting;
    if (heard_at_.count() == 0)
        heard_at_ = now;
    if (arrivals_.begun())
        arrivals_.ask_anyway();
    if (linked_before_) {
        continues_ = arrivals_.begun();
        act(ActionKind::mark_resumed, {});
    }
    linked_before_ = true;
    // A greeting that goes on keeps its limit.
    if (still_greeting || phase_ == Phase::halting || phase_ == Phase::settling)
        return ask_hello(now);
    if (phase_ != Phase::over)
        enter(Phase::greeting, now);
}

void Protocol::ask_hello(Microseconds now) {
    if (hello_at_ && now - *hello_at_ < 2 * timings_.retry)
        return;
    hello_at_ = now;
    query_boot_ = false;
    send("hello", now);
}

void Protocol::junk(std::string_view bytes, Microseconds) {
    ++counts_.damaged;
    junk_since_line_ = true;
    act(ActionKind::keep_damaged, std::string{bytes});
}

void Protocol::line(std::string_view line, Microseconds now) {
    const droplog::Record record = droplog::decode(line);
    if (!record.from_controller())
        return junk(line, now);
    heard_at_ = now;
    arrivals_.came(record.seq);
    judge(line, record, now);
    while (const auto held = arrivals_.take_held())
        judge(*held, droplog::decode(*held), now);
}

void Protocol::judge(std::string_view line, const droplog::Record& record, Microseconds now) {
    const bool is_hello = record.name == LineName::hello;
    const Arrival arrival = arrivals_.judge(record, is_hello ? field(line, boot_field) : "", now);
    if (arrival == Arrival::new_boot)
        rebooted(now);
    const bool taken = arrival == Arrival::taken ||
                       (arrival == Arrival::new_boot && arrivals_.last_taken() == record.seq);
    if (taken)
        return take(line, record, now);
    if (arrival == Arrival::early)
        return arrivals_.hold(record.seq, line);
    if (arrival == Arrival::repeated) {
        ++counts_.repeated;
        // Unasked repeats are what a controller sends that has started anew without our noticing.
        query_boot_ = query_boot_ || !arrivals_.asked_lately(now);
    }
}

void Protocol::take(std::string_view line, const droplog::Record& record, Microseconds now) {
    ++counts_.taken;
    junk_since_line_ = false;
    actions_.push_back({ActionKind::keep, std::string{line}, record});
    if (!marked_at_ || now - *marked_at_ >= timings_.at) {
        marked_at_ = now;
        actions_.push_back({ActionKind::mark_time, {}, record});
    }
    if (record.name == LineName::hello)
        take_hello(line, record, now);
    else if (record.name == LineName::refused)
        take_refusal(line);
    else if (record.name == LineName::fault)
        act(ActionKind::say,
            fmt::format("{}{}",
                        record.channel < 0 ? "" : fmt::format("channel {}: ", record.channel),
                        fault_in_words(field(line, code_field))));
    else if (record.name == LineName::beat)
        check_lost(record, now);
    else
        take_state(line, record, now);
}

void Protocol::take_hello(std::string_view line, const droplog::Record& hello, Microseconds now) {
    const std::uint32_t protocol = hello.index;
    const std::uint32_t channels = hello.count;
    if (protocol != spoken_protocol)
        return end("protocol",
                   controller_trouble(fmt::format("speaks protocol {}, this program speaks {}",
                                                  protocol, spoken_protocol),
                                      "install a firmware and a program that fit each other"));
    if (channels < 32 && (order_.channel_mask >> channels) != 0)
        return end("channels", controller_trouble(
                                   fmt::format("has {} channels, the run asks for channel mask {}",
                                               channels, order_.channel_mask),
                                   "give --channels for the channels that are there"));
    if (phase_ != Phase::greeting)
        return;
    if (continues_)
        return after_greeting(now);
    act(ActionKind::say, fmt::format("controller: {}, {} channels", field(line, 6), channels));
    enter(Phase::checking, now);
}

void Protocol::check_lost(const droplog::Record& beat, Microseconds now) {
    if (phase_ != Phase::checking || continues_)
        return;
    if (beat.count > 0)
        return end("lost",
                   controller_trouble(fmt::format("has thrown away {} lines since it was switched "
                                                  "on, so no run from it could pass",
                                                  beat.count),
                                      "switch the controller off and on, then start again"));
    enter(Phase::arming, now);
}

void Protocol::take_state(std::string_view line, const droplog::Record& record, Microseconds now) {
    const ControllerState before = state_;
    state_ = after(state_, record.name);
    if (record.name == LineName::halted) {
        const std::string reason = field(line, detail_field);
        act(ActionKind::say, halt_in_words(reason));
        if (end_reason_.empty())
            end_reason_ = reason_or_halted(reason);
    }
    if (state_ != before)
        follow_state(now);
}

void Protocol::follow_state(Microseconds now) {
    const bool catching_up = phase_ == Phase::checking && continues_;
    if (phase_ != Phase::running && phase_ != Phase::halting && !waits_for_start() && !catching_up)
        return;
    if (state_ == ControllerState::halted)
        enter(Phase::settling, now);
    else if (state_ == ControllerState::armed && (phase_ == Phase::arming || catching_up))
        enter(Phase::starting, now);
    else if (state_ == ControllerState::started && phase_ != Phase::halting)
        enter(Phase::running, now);
}

bool Protocol::waits_for_start() const {
    return phase_ == Phase::arming || phase_ == Phase::starting;
}

void Protocol::take_refusal(std::string_view line) {
    const std::string code = field(line, detail_field);
    if (is_wire_trouble(code) || !waits_for_start() || ++refusals_ < refusals_in_earnest)
        return;
    end("refused", controller_trouble(fmt::format("refused to start: {}", refusal_in_words(code)),
                                      "then start again"));
}

void Protocol::rebooted(Microseconds now) {
    state_ = ControllerState::idle;
    marked_at_.reset();
    if (phase_ == Phase::over || phase_ == Phase::settling || reset_)
        return;
    // Motors are never started again by themselves: whoever reset the controller may stand beside
    // it.
    reset_ = true;
    end_reason_ = "reset";
    act(ActionKind::say,
        "the controller has started anew (reset or power failure); the motors stand "
        "still and the run ends here");
    enter(Phase::settling, now);
}

void Protocol::after_greeting(Microseconds now) {
    if (state_ == ControllerState::halted)
        return enter(Phase::settling, now);
    if (state_ == ControllerState::started)
        return enter(Phase::running, now);
    // What the controller did before this hello may still be on its way: do not start it twice.
    enter(Phase::checking, now);
}

void Protocol::halt(std::string reason, Microseconds now) {
    if (phase_ == Phase::halting || phase_ == Phase::settling || phase_ == Phase::over)
        return;
    end_reason_ = std::move(reason);
    if (state_ == ControllerState::idle && !continues_ && phase_ < Phase::arming)
        return end(end_reason_, std::nullopt);
    enter(Phase::halting, now);
}

void Protocol::time(Microseconds now) {
    if (phase_ == Phase::over)
        return;
    keep_alive(now);
    watch_gaps(now);
    retry(now);
    watch_limits(now);
}

void Protocol::keep_alive(Microseconds now) {
    if (now - alive_at_ < timings_.alive)
        return;
    alive_at_ = now;
    act(ActionKind::send_unlogged, droplog::encode("alive"));
}

void Protocol::watch_gaps(Microseconds now) {
    if (const auto seq = arrivals_.ask_now(now)) {
        ++counts_.resends;
        act(ActionKind::send, droplog::encode(fmt::format("resend,{}", *seq)));
    }
    const bool silent = now - heard_at_ >= timings_.silence;
    if (arrivals_.begun() && (silent || query_boot_ || arrivals_.suspicious()))
        ask_hello(now);
}

void Protocol::retry(Microseconds now) {
    if (now - sent_at_ < timings_.retry)
        return;
    if (const std::string order = order_of_phase(); !order.empty()) {
        sent_at_ = now;
        act(ActionKind::send, order);
    }
}

void Protocol::watch_limits(Microseconds now) {
    const Microseconds in_phase = now - entered_at_;
    if (phase_ == Phase::checking && in_phase >= 4 * timings_.retry)
        return enter(state_ == ControllerState::armed ? Phase::starting : Phase::arming, now);
    if (phase_ == Phase::settling)
        return watch_settling(now);
    if (phase_ == Phase::halting && in_phase >= timings_.halt_limit)
        return give_up(
            "no_halt",
            controller_trouble("did not confirm the halt",
                               "make sure that the motors stand still: press the emergency stop"));
    const bool asks = phase_ == Phase::greeting || waits_for_start();
    const Microseconds limit = continues_ ? timings_.reconnect_limit : timings_.answer_limit;
    if (!asks || in_phase < limit)
        return;
    const char* const what = phase_ == Phase::greeting ? "does not answer"
                             : phase_ == Phase::arming ? "does not confirm `arm`"
                                                       : "does not confirm `go`";
    give_up(
        "no_answer",
        controller_trouble(
            what,
            "check port, baud rate, cable and power; dropledger run --list-ports shows the ports"));
}

void Protocol::watch_settling(Microseconds now) {
    const Microseconds in_phase = now - entered_at_;
    const bool quiet = !arrivals_.behind() && !junk_since_line_;
    if ((in_phase >= timings_.settle && quiet) || in_phase >= timings_.settle_limit)
        end(end_reason_, std::nullopt);
}

} // namespace dropledger::recorder
