#include "bench/recorder/protocol/protocol.hpp"

#include "bench/recorder/protocol/lines/controller_text.hpp"
#include "bench/recorder/protocol/recovery.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <utility>

namespace dropledger::recorder {

Protocol::Protocol(ArmOrder order, const Timings& timings, Leave leave)
    : order_(order), timings_(timings), leave_(std::move(leave)), arrivals_(timings.resend) {
}

void Protocol::restore(const Recovered& found) {
    continues_ = found.next.has_value();
    state_ = found.state;
    ordered_ = surveyed_ = found.ordered;
    ended_ = found.ended();
    starts_ = found.starts;
    start_open_ = found.start_open;
    unasked_ = found.unasked;
    bench_ = found.bench;
    counts_.conflicting = found.conflicting;
    counts_.lost = found.lost;
    conceded_before_ = found.missing;
    if (found.next) {
        arrivals_.restore(found.boot, *found.next);
        kept_ = *found.next - 1;
        survey_.begin(found.first);
    }
    if (ended_ && !found.may_go_on())
        leave_.start.reset();
    if (ended_)
        end_reason_ = found.end_reason;
}

// With its actions a `go` goes out: what came before was no answer to it.
std::vector<Action> Protocol::take_actions() {
    start_open_ = std::exchange(start_queued_, false) || start_open_;
    return std::exchange(actions_, {});
}

void Protocol::act(ActionKind kind, std::string text) {
    actions_.push_back({kind, std::move(text), {}, 0});
}

void Protocol::send(std::string_view body, Microseconds now) {
    sent_at_ = now;
    act(ActionKind::send, droplog::encode(body));
}

// A first `go` that nobody has sent yet: something has come between.
void Protocol::recall_go() {
    if (!std::exchange(start_queued_, false))
        return;
    std::erase_if(actions_, [](const Action& action) {
        return action.kind == ActionKind::mark_confirmed ||
               (action.kind == ActionKind::send_synced && action.text.starts_with("go*"));
    });
}

void Protocol::enter(Phase phase, Microseconds now) {
    phase_ = phase;
    entered_at_ = moved_at_ = now;
    refusals_ = 0;
    if (phase == Phase::starting && !go_) {
        go_.emplace(std::move(leave_.start.value()));
        leave_.start.reset();
        start_queued_ = true;
        actions_.push_back({ActionKind::mark_confirmed, {}, {}, go_->confirmed_unix_us()});
    }
    if (phase > Phase::starting) {
        recall_go();
        go_.reset();
    }
    send_order(now);
}

// What is sent on entering a phase, and again until it is answered.
std::string Protocol::order_of_phase() const {
    switch (phase_) {
    case Phase::greeting:
        return droplog::encode("hello");
    case Phase::arming:
        return arm_line(order_);
    case Phase::starting:
        return go_.value().line();
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

void Protocol::send_order(Microseconds now) {
    const std::string order = order_of_phase();
    if (order.empty())
        return;
    ordered_ = ordered_ || phase_ == Phase::arming;
    sent_at_ = now;
    goes_unanswered_ += phase_ == Phase::starting ? 1 : 0;
    act(waits_for_start() ? ActionKind::send_synced : ActionKind::send, order);
}

// Nothing is armed without leave to start.
void Protocol::begin_start(Microseconds now) {
    if (!leave_.start && !go_)
        return wind_up(
            "not_started",
            controller_trouble("was never started by this run, and no start is confirmed",
                               "record a new run"),
            now);
    if (leave_.start && now - leave_.start->given_at() > timings_.confirmed_for)
        return too_late_to_start(now);
    if (counts_.lost > 0 || conceded() > 0) // a `started` may be among them
        return wind_up("lost",
                       controller_trouble("has lost lines of this run, and nobody knows what they "
                                          "told",
                                          "switch it off and on, then record a new run"),
                       now);
    const bool armed = state_ == ControllerState::armed && !boot_in_doubt();
    enter(armed ? Phase::starting : Phase::arming, now);
}

// A run of which a part was made can be gone on with another time.
void Protocol::too_late_to_start(Microseconds now) {
    Error late = controller_trouble("was ready only long after the start was confirmed, and "
                                    "who confirmed it may stand elsewhere by now",
                                    "start again");
    if (going_on_)
        return give_up("not_started", std::move(late));
    wind_up("not_started", std::move(late), now);
}

// What came last may be another boot's, whose `hello` was lost.
bool Protocol::boot_in_doubt() const {
    return boot_doubted_ || !arrivals_.boot_named() || arrivals_.suspicious();
}

void Protocol::start_when_sure(Microseconds now) {
    query_boot_ = boot_in_doubt();
    if (!query_boot_)
        enter(Phase::starting, now);
}

bool Protocol::waits_for_start() const {
    return phase_ == Phase::arming || phase_ == Phase::starting;
}

void Protocol::end(std::string reason, std::optional<Error> trouble) {
    phase_ = Phase::over;
    recall_go();
    go_.reset();
    boot_confirmed();
    if (end_reason_.empty())
        end_reason_ = std::move(reason);
    if (!trouble_)
        trouble_ = std::move(trouble);
}

void Protocol::give_up(std::string reason, Error trouble) {
    resumable_ = true;
    end(std::move(reason), std::move(trouble));
}

void Protocol::wind_up(std::string reason, Error trouble, Microseconds now) {
    end_reason_ = std::move(reason);
    trouble_ = std::move(trouble);
    enter(Phase::halting, now);
}

bool Protocol::may_go_on() const {
    return phase_ == Phase::over && leaves_drops(end_reason_, starts_) && !trouble_ && !rebooted_ &&
           !unasked_ && !given_up_ && counts_.lost == 0 && arrivals_.conceded() == 0;
}

// As after a restart: what the controller did before it is armed again must have arrived.
void Protocol::go_on(const ArmOrder& rest, Microseconds now) {
    order_ = rest;
    end_reason_.clear();
    ended_ = false;
    continues_ = going_on_ = true;
    linked_next_ = arrivals_.next();
    enter(Phase::checking, now);
}

bool Protocol::needs_halt() const {
    if (unasked_ && !unheeded_)
        return state_ != ControllerState::halted && !idle_;
    const bool never_moved = !ordered_ && state_ == ControllerState::idle && !survey_.busy();
    const bool ended = state_ == ControllerState::halted || reset_ || ended_ || idle_;
    return !never_moved && !ended && !unheeded_;
}

void Protocol::link_up(Microseconds now) {
    const bool still_greeting = linked_before_ && phase_ == Phase::greeting;
    if (heard_at_.count() == 0)
        heard_at_ = now;
    arrivals_.doubt_boot();
    linked_next_ = arrivals_.next();
    if (linked_before_) {
        continues_ = arrivals_.begun();
        act(ActionKind::mark_resumed, {});
    }
    linked_before_ = true;
    if (phase_ == Phase::halting) // the other end has heard nothing on this line yet
        entered_at_ = std::max(entered_at_, now - timings_.halt_limit / 2);
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

void Protocol::halt(std::string reason, Microseconds now) {
    if (phase_ == Phase::halting || phase_ == Phase::settling || phase_ == Phase::over)
        return;
    leave_.start.reset();
    if (ended_)
        return give_up("interrupted", controller_trouble("was not heard out",
                                                         "go on with `resume` when there is time"));
    end_reason_ = std::move(reason);
    if (!needs_halt() && phase_ < Phase::arming)
        return end(end_reason_, std::nullopt);
    enter(Phase::halting, now);
}

} // namespace dropledger::recorder
