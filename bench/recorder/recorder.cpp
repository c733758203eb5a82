#include "bench/recorder/recorder.hpp"

#include "analysis/droplog/writer.hpp"
#include "bench/link/framer.hpp"
#include "bench/recorder/halt_motors.hpp"
#include "bench/recorder/log_file.hpp"
#include "bench/recorder/recovery.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <utility>

namespace dropledger::recorder {

namespace {

using link::FrameKind;
using link::ReadOutcome;
using LinkPointer = std::unique_ptr<link::Transport>;

constexpr std::chrono::milliseconds read_patience{20};
constexpr Microseconds reopen_pause{200'000};

struct Parts {
    LogFile file;
    droplog::SealChain chain;
    Protocol protocol;
    LiveTally tally;
    LinkPointer link;
};

class Recording {
public:
    Recording(const RunPlan& plan, Parts parts, const Bench& bench, const Hooks& hooks);

    [[nodiscard]] Status begin_log(const RunPlan& plan);
    [[nodiscard]] Status begin_again();
    [[nodiscard]] Result<RunSummary> run();

private:
    [[nodiscard]] Status step();
    void heed_interrupts();
    void read_link();
    void take_frames();
    void carry_out();
    void carry_out(const Action& action);
    void keep(const Action& action);
    void send(const std::string& line);
    [[nodiscard]] Status commit_when_due();
    [[nodiscard]] Status commit();
    void acknowledge();
    void seal_when_due();
    [[nodiscard]] Status watch_link();
    [[nodiscard]] Status reconnect();
    void drop_link();
    [[nodiscard]] Result<RunSummary> finish();
    [[nodiscard]] Error broken_off(Error error);
    [[nodiscard]] bool nothing_recorded() const;
    [[nodiscard]] RunSummary summary();

    const RunPlan& plan_;
    LogFile file_;
    droplog::Writer writer_;
    Protocol protocol_;
    LiveTally tally_;
    LinkPointer link_;
    const Bench& bench_;
    const Hooks& hooks_;
    link::Framer framer_;
    bool new_log_ = false;
    bool disk_failed_ = false;
    bool leave_ = false;
    bool stopped_by_rule_ = false;
    int interrupts_ = 0;
    std::string boot_;
    std::optional<Microseconds> dirty_since_;
    Microseconds sealed_at_{0};
    Microseconds opened_at_{0};
    std::optional<std::uint32_t> acknowledged_;
};

Recording::Recording(const RunPlan& plan, Parts parts, const Bench& bench, const Hooks& hooks)
    : plan_(plan), file_(std::move(parts.file)), writer_(
                                                     [this](std::string_view line) {
                                                         file_.add(line);
                                                         if (!dirty_since_)
                                                             dirty_since_ = bench_.clock.steady();
                                                     },
                                                     std::move(parts.chain)),
      protocol_(std::move(parts.protocol)), tally_(std::move(parts.tally)),
      link_(std::move(parts.link)), bench_(bench), hooks_(hooks), boot_(protocol_.boot()) {
}

Status Recording::begin_log(const RunPlan& plan) {
    new_log_ = true;
    writer_.start(plan.run_id, rfc3339(bench_.clock.unix_us()));
    for (const Setting& setting : plan.settings)
        writer_.set(setting.key, setting.value);
    // Not settings of the format, but what a resumed run needs to give its order again.
    writer_.set("channel_mask", std::to_string(plan.order.channel_mask));
    writer_.set("drops", std::to_string(plan.order.drops));
    for (const ChannelSetting& setting : plan.channel_settings)
        writer_.channel_set(setting.channel, setting.key, setting.value);
    for (const std::string& remark : plan.remarks)
        writer_.note(remark);
    if (const Status done = commit(); !done) {
        static_cast<void>(file_.remove());
        return done.error();
    }
    return Done{};
}

Status Recording::begin_again() {
    if (writer_.unsealed() >= droplog::seal_every)
        writer_.seal();
    writer_.resumed(bench_.clock.unix_us());
    return commit();
}

Result<RunSummary> Recording::run() {
    sealed_at_ = opened_at_ = bench_.clock.steady();
    protocol_.link_up(opened_at_);
    while (protocol_.phase() != Phase::over && !leave_)
        if (const Status stepped = step(); !stepped)
            return broken_off(stepped.error());
    return finish();
}

Status Recording::step() {
    heed_interrupts();
    read_link();
    protocol_.time(bench_.clock.steady());
    carry_out();
    seal_when_due();
    if (const Status done = commit_when_due(); !done)
        return done.error();
    return watch_link();
}

void Recording::heed_interrupts() {
    const int interrupts = hooks_.interrupts();
    if (interrupts == interrupts_)
        return;
    interrupts_ = interrupts;
    leave_ = interrupts > 1;
    if (interrupts == 1)
        hooks_.say("stopping: halting the motors, then closing the log (once more leaves at once)");
    protocol_.halt("interrupted", bench_.clock.steady());
}

void Recording::read_link() {
    if (!link_)
        return;
    const link::Read read = link_->read(read_patience);
    if (read.outcome == ReadOutcome::bytes) {
        framer_.feed(read.bytes);
        take_frames();
    } else if (read.outcome == ReadOutcome::gone) {
        drop_link();
    }
}

void Recording::take_frames() {
    const Microseconds now = bench_.clock.steady();
    for (link::Frame frame = framer_.next(); frame.kind != FrameKind::need_more;
         frame = framer_.next()) {
        if (frame.kind == FrameKind::line)
            protocol_.line(frame.bytes, now);
        else
            protocol_.junk(frame.bytes, now);
    }
}

void Recording::drop_link() {
    const link::Frame rest = framer_.flush();
    if (rest.kind == FrameKind::not_a_line)
        protocol_.junk(rest.bytes, bench_.clock.steady());
    link_.reset();
}

void Recording::carry_out() {
    for (auto actions = protocol_.take_actions(); !actions.empty();
         actions = protocol_.take_actions())
        for (const Action& action : actions)
            carry_out(action);
}

void Recording::carry_out(const Action& action) {
    switch (action.kind) {
    case ActionKind::keep:
        return keep(action);
    case ActionKind::keep_damaged:
        return writer_.damaged(action.text);
    case ActionKind::mark_time:
        return writer_.at(action.record.seq, bench_.clock.unix_us());
    case ActionKind::mark_resumed:
        return writer_.resumed(bench_.clock.unix_us());
    case ActionKind::send:
        if (link_)
            writer_.sent(action.text);
        return send(action.text);
    case ActionKind::send_unlogged:
        return send(action.text);
    case ActionKind::say:
        return hooks_.say(action.text);
    }
}

void Recording::keep(const Action& action) {
    writer_.controller(action.text);
    if (action.record.name == droplog::LineName::hello &&
        std::exchange(boot_, protocol_.boot()) != boot_)
        tally_.reboot();
    tally_.take(action.record, action.text);
    if (action.record.name != droplog::LineName::drop || protocol_.phase() != Phase::running)
        return;
    if (const auto reason = hooks_.stop(tally_)) {
        stopped_by_rule_ = true;
        protocol_.halt(*reason, bench_.clock.steady());
    }
}

void Recording::send(const std::string& line) {
    if (link_ && !link_->write(line + '\n'))
        drop_link();
}

void Recording::seal_when_due() {
    const Microseconds now = bench_.clock.steady();
    if (now - sealed_at_ < plan_.timings.seal)
        return;
    sealed_at_ = now;
    writer_.seal();
}

Status Recording::commit_when_due() {
    if (!dirty_since_ || bench_.clock.steady() - *dirty_since_ < plan_.timings.commit)
        return Done{};
    Status done = commit();
    hooks_.progress(tally_);
    return done;
}

Status Recording::commit() {
    dirty_since_.reset();
    Status done = file_.write();
    if (done)
        done = file_.sync();
    disk_failed_ = !done;
    if (done)
        acknowledge();
    return done;
}

void Recording::acknowledge() {
    const auto last = protocol_.last_taken();
    if (!link_ || !last || last == acknowledged_)
        return;
    acknowledged_ = last;
    send(droplog::encode(fmt::format("ack,{}", *last)));
}

Status Recording::watch_link() {
    const Microseconds now = bench_.clock.steady();
    const Microseconds silent_since = std::max(protocol_.last_heard(), opened_at_);
    if (link_ && now - silent_since >= plan_.timings.reopen)
        drop_link();
    if (link_ || protocol_.phase() == Phase::over)
        return Done{};
    return reconnect();
}

Status Recording::reconnect() {
    hooks_.say("the line to the controller is lost; trying to get it back");
    writer_.seal();
    if (const Status done = commit(); !done)
        return done.error();
    const Microseconds until = protocol_.last_heard() + plan_.timings.reconnect_limit;
    while (bench_.clock.steady() < until && hooks_.interrupts() == interrupts_) {
        bench_.clock.wait(reopen_pause);
        auto opened = bench_.open();
        if (!opened)
            continue;
        link_ = std::move(*opened);
        opened_at_ = bench_.clock.steady();
        acknowledged_.reset();
        protocol_.link_up(opened_at_);
        hooks_.say("the line is back");
        return Done{};
    }
    return Error{ErrorKind::device, "controller",
                 "the line is lost; without it the controller halts its motors after 2 s",
                 "check cable and power, make sure that the motors stand still, then go on with: "
                 "dropledger run --resume " +
                     file_.path()};
}

bool Recording::nothing_recorded() const {
    return new_log_ && protocol_.counts().taken == 0;
}

Result<RunSummary> Recording::finish() {
    if (leave_)
        return broken_off({ErrorKind::device, file_.path(),
                           "left without waiting for the controller's halt",
                           "make sure that the motors stand still"});
    carry_out();
    if (protocol_.resumable())
        return broken_off(*protocol_.trouble());
    if (nothing_recorded())
        return broken_off({ErrorKind::device, file_.path(),
                           "stopped before the controller had answered; nothing was recorded", ""});
    tally_.finish();
    for (const std::string& remark : hooks_.last_remarks())
        writer_.note(remark);
    writer_.close(protocol_.end_reason(), plan_.key);
    if (const Status done = commit(); !done)
        return broken_off(done.error());
    if (protocol_.trouble())
        return *protocol_.trouble();
    return summary();
}

Error Recording::broken_off(Error error) {
    if (disk_failed_ && link_)
        hooks_.say(halt_motors(*link_, bench_.clock, plan_.timings)
                       ? "the motors are halted"
                       : "the halt is not confirmed: make sure that the motors stand still");
    if (nothing_recorded()) {
        static_cast<void>(file_.remove());
        return error;
    }
    if (!disk_failed_) {
        writer_.seal();
        static_cast<void>(commit());
    }
    return error;
}

RunSummary Recording::summary() {
    const bool as_planned = stopped_by_rule_ || protocol_.end_reason() == "count";
    return {file_.path(), protocol_.end_reason(), as_planned,
            tally_,       protocol_.counts(),     protocol_.conceded()};
}

LiveTally empty_tally(const RunPlan& plan, const Hooks& hooks) {
    LiveTally tally;
    tally.watch(hooks.settled);
    for (const ChannelSetting& setting : plan.channel_settings)
        if (setting.value == "above" &&
            (setting.key == "gate0_place" || setting.key == "gate1_place"))
            tally.set_gate_above(setting.channel, setting.key == "gate1_place" ? 1 : 0);
    return tally;
}

} // namespace

Result<RunSummary> record(const RunPlan& plan, const std::string& path, const Bench& bench,
                          const Hooks& hooks) {
    auto link = bench.open(); // first, so that a wrong port leaves no log behind
    if (!link)
        return link.error();
    auto file = LogFile::create(path);
    if (!file)
        return file.error();
    Recording recording{plan,
                        {std::move(*file),
                         {},
                         Protocol{plan.order, plan.timings},
                         empty_tally(plan, hooks),
                         std::move(*link)},
                        bench,
                        hooks};
    if (const Status begun = recording.begin_log(plan); !begun)
        return begun.error();
    return recording.run();
}

Result<RunSummary> resume(const RunPlan& plan, const std::string& path, const Bench& bench,
                          const Hooks& hooks) {
    auto link = bench.open();
    if (!link)
        return link.error();
    auto file = LogFile::open_existing(path); // locked before it is read
    if (!file)
        return file.error();
    auto found = recover(path, hooks.settled);
    if (!found)
        return found.error();
    if (const Status cut = file->cut_to(found->whole_bytes); !cut)
        return cut.error();
    Protocol protocol{found->order, plan.timings};
    protocol.restore(*found);
    Recording recording{plan,
                        {std::move(*file), std::move(found->chain), std::move(protocol),
                         std::move(found->tally), std::move(*link)},
                        bench,
                        hooks};
    if (const Status begun = recording.begin_again(); !begun)
        return begun.error();
    return recording.run();
}

} // namespace dropledger::recorder
