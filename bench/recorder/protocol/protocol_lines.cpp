// What the controller's lines mean to the protocol.
#include "bench/recorder/protocol/lines/controller_text.hpp"
#include "bench/recorder/protocol/lines/words.hpp"
#include "bench/recorder/protocol/protocol.hpp"

#include "analysis/droplog/reasons.hpp"

#include <fmt/format.h>

#include <cmath>
#include <functional>
#include <utility>

namespace dropledger::recorder {

namespace {

using droplog::LineName;
using droplog::RefusedCode;

constexpr std::uint32_t spoken_protocol = 1;
constexpr std::size_t most_other_lines = 100; // waiting for the boot to be confirmed
// How far line mode may travel beyond its order before it is halted: a belt takes its time to stop.
constexpr double most_of_length = 1.1;
constexpr double stopping_um = 5'000'000;
constexpr std::size_t most_conflicts = 1000; // kept of a run; all are counted

bool is_later(std::uint32_t seq, std::uint32_t than) {
    return static_cast<std::int32_t>(seq - than) > 0;
}

} // namespace

void Protocol::junk(std::string_view bytes, Microseconds) {
    ++counts_.damaged;
    junk_since_line_ = true;
    act(ActionKind::keep_damaged, std::string{bytes});
}

void Protocol::line(std::string_view line, Microseconds now) {
    const droplog::Record record = droplog::decode(line);
    if (!record.from_controller())
        return junk(line, now);
    if (phase_ == Phase::over)
        return;
    heard_at_ = now;
    arrivals_.came(record.seq);
    hear_gone(line, record, now);
    judge(line, record, now);
    while (phase_ != Phase::over) {
        const auto held = arrivals_.take_held();
        if (!held)
            return;
        judge(*held, droplog::decode(*held), now);
    }
}

// The controller says that what this log lacks was acknowledged: by another run, to another log.
// Its later lines belong to that one.
void Protocol::hear_gone(std::string_view line, const droplog::Record& record, Microseconds now) {
    if (record.name != LineName::refused ||
        droplog::refused_code_of(field(line, detail_field)) != RefusedCode::gone ||
        !arrivals_.awaits_answer(now))
        return;
    if (std::exchange(gone_seq_, arrivals_.next()) != arrivals_.next())
        gone_ = 0;
    if (++gone_ < refusals_in_earnest)
        return;
    if (reset_ && !arrivals_.greeted())
        return meet_other_bench("another program has taken its first lines since it was started");
    given_up_ = true;
    if (reset_ || ended_) // what comes after a run's end is no part of it
        return end(end_reason_, std::nullopt);
    act(ActionKind::note,
        fmt::format("the controller no longer has the lines from SEQ {} on: they were acknowledged "
                    "for another run",
                    arrivals_.next()));
    give_up("gone",
            controller_trouble(
                fmt::format("no longer has the lines from SEQ {} on: another run has acknowledged "
                            "them, and this log stays incomplete",
                            arrivals_.next()),
                "audit the log as it is, or record a new run"));
}

void Protocol::judge(std::string_view line, const droplog::Record& record, Microseconds now) {
    const bool is_hello = record.name == LineName::hello;
    if (is_hello)
        if (const auto difference = bench_.difference(line))
            return meet_other_bench(*difference);
    const bool begun = arrivals_.begun();
    const Arrival arrival = arrivals_.judge(record, is_hello ? field(line, boot_field) : "", now);
    if (arrival == Arrival::new_boot) {
        // What the controller does now is no part of a run that had ended before.
        rebooted_ = true;
        if (ended_)
            return end(end_reason_, std::nullopt);
        rebooted(now);
    } else if (is_hello) {
        boot_confirmed();
    }
    if (is_hello)
        hear_boot(now);
    sort_in(line, record, arrival, begun, now);
}

// `begun`: a line had been taken before.
void Protocol::sort_in(std::string_view line, const droplog::Record& record, Arrival arrival,
                       bool begun, Microseconds now) {
    const bool taken = arrival == Arrival::taken ||
                       (arrival == Arrival::new_boot && arrivals_.last_taken() == record.seq);
    if (taken && !begun)
        survey_.begin(record.seq);
    if (taken)
        return take(line, record, now);
    if (arrival == Arrival::early)
        return arrivals_.hold(record.seq, line);
    if (arrival == Arrival::repeated)
        judge_again(line, record, now);
}

void Protocol::judge_again(std::string_view line, const droplog::Record& record, Microseconds now) {
    if (surveys()) {
        survey_.seen(record);
        return look_at_held(now);
    }
    ++counts_.repeated;
    const bool differs = taken_.differs(record.seq, line);
    if (differs)
        arrivals_.doubt_boot();
    if (differs && other_lines_.size() < most_other_lines)
        other_lines_.emplace_back(line);
    // Unasked repeats are what a controller sends that has started anew without our noticing.
    const bool doubtful = differs || !arrivals_.asked_lately(now);
    query_boot_ = query_boot_ || doubtful;
    boot_doubted_ = boot_doubted_ || doubtful;
}

void Protocol::hear_boot(Microseconds now) {
    boot_doubted_ = false;
    if (phase_ == Phase::arming && state_ == ControllerState::armed)
        start_when_sure(now);
}

// It is still the same boot: other lines under a SEQ that was taken contradict the log.
void Protocol::boot_confirmed() {
    for (const std::string& line : std::exchange(other_lines_, {})) {
        --counts_.repeated;
        ++counts_.conflicting;
        if (conflicts_.size() < most_conflicts &&
            conflicts_.insert(std::hash<std::string>{}(line)).second)
            act(ActionKind::keep_conflict, line);
    }
}

void Protocol::take(std::string_view line, const droplog::Record& record, Microseconds now) {
    ++counts_.taken;
    junk_since_line_ = false;
    kept_ = record.seq;
    taken_.remember(record.seq, line);
    actions_.push_back({ActionKind::keep, std::string{line}, record, 0});
    if (!marked_at_ || now - *marked_at_ >= timings_.at) {
        marked_at_ = now;
        actions_.push_back({ActionKind::mark_time, {}, record, 0});
    }
    if (surveys()) {
        survey_.seen(record);
        look_at_held(now);
    }
    if (phase_ != Phase::over)
        act_on(line, record, now);
}

void Protocol::act_on(std::string_view line, const droplog::Record& record, Microseconds now) {
    if (record.name == LineName::hello)
        take_hello(line, record, now);
    else if (record.name == LineName::refused)
        take_refusal(line, now);
    else if (record.name == LineName::beat)
        take_beat(record, now);
    else if (record.name == LineName::fault)
        actions_.push_back({record.channel < 0 ? ActionKind::say : ActionKind::say_of_channel,
                            fault_in_words(field(line, code_field)), record, 0});
    else if (record.name <= LineName::pulse)
        take_movement(record, now);
    else
        take_state(line, record, now);
}

void Protocol::take_movement(const droplog::Record& record, Microseconds now) {
    if (record.name == LineName::drop && state_ != ControllerState::started)
        return moved_unasked(now);
    const bool stands = record.name == LineName::travel &&
                        std::exchange(position_um_, record.position_um) == record.position_um;
    if (!stands)
        moved_at_ = now;
    if (phase_ == Phase::running && beyond_order(record))
        halt("more_than_ordered", now);
}

bool Protocol::beyond_order(const droplog::Record& record) {
    if (order_.drops == 0)
        return false;
    if (record.name == LineName::drop)
        return static_cast<std::int64_t>(record.index) >= order_.drops;
    if (record.name != LineName::travel || order_.mode != droplog::Mode::line)
        return false;
    const auto begun_um = static_cast<double>(started_um_.value_or(record.position_um));
    started_um_ = started_um_.value_or(record.position_um);
    const double ordered_um =
        static_cast<double>(order_.drops) * static_cast<double>(order_.spacing_um);
    return std::abs(static_cast<double>(record.position_um) - begun_um) >
           ordered_um * most_of_length + stopping_um;
}

void Protocol::take_hello(std::string_view line, const droplog::Record& hello, Microseconds now) {
    bench_.keep(line);
    const std::uint32_t protocol = hello.index;
    const std::uint32_t channels = hello.count;
    if (protocol != spoken_protocol)
        return end("protocol",
                   controller_trouble(fmt::format("speaks protocol {}, this program speaks {}",
                                                  protocol, spoken_protocol),
                                      "install a firmware and a program that fit each other"));
    if (const auto lacking = lacking_channels(order_.channel_mask, channels))
        return end("channels", *lacking);
    if (phase_ != Phase::greeting)
        return;
    if (continues_)
        return after_greeting(now);
    act(ActionKind::say,
        fmt::format("controller: {}, {} channels", field(line, firmware_field), channels));
    enter(Phase::checking, now);
}

void Protocol::after_greeting(Microseconds now) {
    if (unasked_ && state_ == ControllerState::started)
        return halt_unasked(now);
    if (ended_ || (state_ == ControllerState::halted && !going_on_))
        return enter(Phase::settling, now);
    if (state_ == ControllerState::started)
        return enter(Phase::running, now);
    // What the controller did before this hello may still be on its way: do not start it twice.
    enter(Phase::checking, now);
}

void Protocol::take_beat(const droplog::Record& beat, Microseconds now) {
    counts_.lost = std::max(counts_.lost, beat.count);
    if (phase_ != Phase::checking)
        return;
    if (surveyed_) {
        // A beat that knows of an `ack` of this link was made after all that was on its way then.
        const std::uint32_t acknowledged_below = beat.seq - beat.index - beat.count;
        if (is_later(acknowledged_below, linked_next_))
            begin_start(now);
        return;
    }
    if (beat.count > 0)
        return end("lost",
                   controller_trouble(fmt::format("has thrown away {} lines since it was switched "
                                                  "on, so no run from it could pass",
                                                  beat.count),
                                      "switch the controller off and on, then start again"));
    survey_.beat(beat);
    look_at_held(now);
}

// The first `ack` gives up all that is older than this run.
void Protocol::look_at_held(Microseconds now) {
    if (survey_.busy())
        return end("busy", controller_trouble("was still making an earlier run",
                                              "go on with it first: `resume` "
                                              "ITS-LOG; or, once it has halted, give "
                                              "`discard_held` to give its lines up"));
    if (!survey_.done() && !(leave_.discard_held && survey_.told()))
        return;
    if (survey_.holds_run() && !leave_.discard_held)
        return end("held",
                   controller_trouble(
                       "still holds lines of an earlier run that are in no log yet; this run would "
                       "destroy them",
                       "fetch them first with: `resume` ITS-LOG; or give "
                       "`discard_held` to give them up"));
    if (leave_.discard_held && survey_.held() > 0)
        act(ActionKind::note,
            fmt::format("{} older lines that the controller held were given up as told",
                        survey_.held()));
    surveyed_ = true;
    begin_start(now);
}

} // namespace dropledger::recorder
