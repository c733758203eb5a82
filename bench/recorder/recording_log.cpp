// What a recording writes, syncs and acknowledges, and how it ends.
#include "bench/recorder/halt_motors.hpp"

#include "analysis/base/dates.hpp"
#include "analysis/droplog/reasons.hpp"
#include "bench/recorder/recording.hpp"
#include "bench/recorder/seconds.hpp"

#include <fmt/format.h>

#include <algorithm>

namespace dropledger::recorder {

namespace {

constexpr Microseconds slow_disk_told_every{10'000'000};

} // namespace

Status Recording::begin_log() {
    new_log_ = true;
    writer_.start(plan_.run_id, rfc3339(bench_.clock.unix_us() / 1'000'000));
    for (const Setting& setting : plan_.settings)
        writer_.set(setting.key, setting.value);
    // Not settings of the format, but what a resumed run needs to give its order again.
    writer_.set("channel_mask", std::to_string(plan_.order.channel_mask));
    writer_.set("drops", std::to_string(plan_.order.drops));
    for (const ChannelSetting& setting : plan_.channel_settings)
        writer_.channel_set(setting.channel, setting.key, setting.value);
    for (const std::string& remark : plan_.remarks)
        writer_.note(remark);
    if (const Status done = commit(); !done) {
        static_cast<void>(file_.remove());
        return done.error();
    }
    return Done{};
}

Status Recording::begin_again(const Recovered& found) {
    if (writer_.unsealed() >= droplog::seal_every)
        writer_.seal();
    writer_.resumed(bench_.clock.unix_us());
    if (found.broken)
        writer_.note(fmt::format("{} bytes behind the last whole line were broken, never "
                                 "acknowledged, and cut off",
                                 found.torn_bytes));
    return commit();
}

void Recording::seal_when_due() {
    const Microseconds now = bench_.clock.steady();
    if (now - sealed_at_ < plan_.timings.seal)
        return;
    sealed_at_ = now;
    if (const auto remark = flood_.take_remark())
        writer_.note(*remark);
    writer_.seal();
}

Status Recording::commit_when_due() {
    if (!dirty_since_ || bench_.clock.steady() - *dirty_since_ < plan_.timings.commit)
        return Done{};
    Status done = commit();
    if (done)
        acknowledge();
    hooks_.progress(tally_);
    return done;
}

Status Recording::commit() {
    const Microseconds began = bench_.clock.steady();
    dirty_since_.reset();
    Status done = store();
    disk_failed_ = !done;
    tell_slow_disk(bench_.clock.steady() - began);
    return done;
}

Status Recording::store() {
    if (const Status ours = file_.untouched(); !ours)
        return ours.error();
    if (const Status written = file_.write(); !written)
        return written.error();
    if (const Status synced = file_.sync(); !synced)
        return synced.error();
    return file_.untouched();
}

void Recording::tell_slow_disk(Microseconds took) {
    slowest_sync_ = std::max(slowest_sync_, took);
    const Microseconds now = bench_.clock.steady();
    if (took < plan_.timings.slow_disk ||
        (told_slow_at_ && now - *told_slow_at_ < slow_disk_told_every))
        return;
    told_slow_at_ = now;
    hooks_.say(fmt::format("the disk under {} is slow: storing lines took {:.1f} s; over {:.0f} s "
                           "the motors are halted",
                           file_.path(), seconds(took), seconds(plan_.timings.dead_man)));
}

// Only where every action is carried out: a line whose turn to be written has not come yet must not
// be acknowledged, however much of the log is on the disk.
void Recording::acknowledge() {
    const auto last = protocol_.acknowledgeable();
    if (!wire_.up() || !last || last == acknowledged_)
        return;
    acknowledged_ = last;
    send(droplog::encode(fmt::format("ack,{}", *last)));
}

// A log whose run was never armed says nothing.
bool Recording::nothing_recorded() const {
    return new_log_ && !protocol_.ordered();
}

Result<RunSummary> Recording::finish() {
    if (leave_)
        return broken_off(device_error(file_.path(),
                                       "left without waiting for the controller's halt",
                                       "make sure that the motors stand still"));
    carry_out();
    if (failure_)
        return broken_off(*failure_);
    if (protocol_.resumable())
        return broken_off(*protocol_.trouble());
    if (stays_open_)
        return leave_open();
    if (nothing_recorded())
        return broken_off(protocol_.trouble().value_or(device_error(
            file_.path(), "stopped before the motors were armed; nothing was recorded", "")));
    if (const Status ours = file_.unchanged(); !ours)
        return broken_off(ours.error());
    if (protocol_.needs_halt())
        make_halt();
    tally_.finish();
    if (const auto remark = flood_.take_remark())
        writer_.note(*remark);
    for (const std::string& remark : hooks_.last_remarks())
        writer_.note(remark);
    writer_.close(protocol_.end_reason(), plan_.key);
    if (const Status done = commit(); !done)
        return broken_off(done.error());
    acknowledge();
    if (protocol_.trouble())
        return *protocol_.trouble();
    return summary();
}

Result<RunSummary> Recording::leave_open() {
    tally_.finish();
    writer_.seal();
    if (const Status done = commit(); !done)
        return broken_off(done.error());
    acknowledge();
    return summary();
}

// Lines that come meanwhile stay with the controller, unacknowledged.
void Recording::make_halt() {
    alive_.reset();
    if (leave_)
        return send(droplog::encode("halt"));
    if (!wire_.up())
        return hooks_.say("no halt can be sent without the line: the controller halts by itself "
                          "after 2 s; make sure that the motors stand still");
    const HeardBefore before{protocol_.newest_seq(), protocol_.goes_unanswered()};
    const bool confirmed = halt_motors(wire_, bench_.clock, plan_.timings, before);
    hooks_.say(protocol_.is_other_bench()
                   ? "the bench on this line was told to halt; the log's own halts by itself 2 s "
                     "after it was last heard from"
                   : outcome_of_halt(confirmed));
}

Error Recording::broken_off(Error error) {
    if (protocol_.needs_halt())
        make_halt();
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
    RunSummary summary{.log = file_.path(),
                       .end_reason = protocol_.end_reason(),
                       .as_planned = false,
                       .left_open = stays_open_,
                       .remainder = remainder(plan_.order, tally_),
                       .tally = tally_,
                       .counts = protocol_.counts(),
                       .conceded = protocol_.conceded()};
    const bool all_done = droplog::made_its_count(summary.end_reason) && summary.remainder.empty();
    const bool all_kept =
        summary.conceded == 0 && summary.counts.lost == 0 && summary.counts.conflicting == 0;
    summary.as_planned = (stopped_by_rule_ || all_done) && all_kept;
    return summary;
}

} // namespace dropledger::recorder
