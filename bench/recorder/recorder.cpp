#include "bench/recorder/recorder.hpp"

#include "bench/recorder/halt_motors.hpp"
#include "bench/recorder/recording.hpp"

#include <utility>

namespace dropledger::recorder {

namespace {

LiveTally empty_tally(const RunPlan& plan, const Hooks& hooks) {
    LiveTally tally;
    tally.watch(hooks.settled);
    for (const ChannelSetting& setting : plan.channel_settings)
        tally.take_setting(setting.channel, setting.key, setting.value);
    return tally;
}

Leave leave_of(RunPlan& plan) {
    return {.start = std::exchange(plan.start, std::nullopt), .discard_held = plan.discard_held};
}

// The log cannot be gone on with: nobody records what moves, if anything does.
void halt_unrecorded(std::unique_ptr<link::Transport> link, const RunPlan& plan, const Bench& bench,
                     const Hooks& hooks) {
    Wire wire(std::move(link));
    hooks.say(outcome_of_halt(halt_motors(wire, bench.clock, plan.timings)));
}

// A log to go on in, cut where it is whole and locked before it is read.
struct Resumable {
    LogFile file;
    Recovered found;

    [[nodiscard]] static Result<Resumable> open(const std::string& path, const Hooks& hooks) {
        auto file = LogFile::open_existing(path);
        if (!file)
            return file.error();
        auto found = recover(path, hooks.settled);
        if (!found)
            return found.error();
        if (const Status cut = file->cut_to(found->whole_bytes); !cut)
            return cut.error();
        return Resumable{*std::move(file), *std::move(found)};
    }
};

} // namespace

Result<RunSummary> record(RunPlan plan, const std::string& path, const Bench& bench,
                          const Hooks& hooks) {
    auto link = bench.open(); // first, so that a wrong port leaves no log behind
    if (!link)
        return link.error();
    auto file = LogFile::create(path);
    if (!file)
        return file.error();
    Protocol protocol{plan.order, plan.timings, leave_of(plan)};
    Recording recording{
        plan,
        {std::move(*file), {}, std::move(protocol), empty_tally(plan, hooks), std::move(*link)},
        bench,
        hooks};
    if (const Status begun = recording.begin_log(); !begun)
        return begun.error();
    return recording.run();
}

Result<RunSummary> resume(RunPlan plan, const std::string& path, const Bench& bench,
                          const Hooks& hooks) {
    auto link = bench.open();
    if (!link)
        return link.error();
    auto resumed = Resumable::open(path, hooks);
    if (!resumed) {
        halt_unrecorded(std::move(*link), plan, bench, hooks);
        return resumed.error();
    }
    Recovered& found = resumed->found;
    plan.order = found.order;
    Protocol protocol{plan.order, plan.timings, leave_of(plan)};
    protocol.restore(found);
    Recording recording{plan,
                        {std::move(resumed->file), std::move(found.chain), std::move(protocol),
                         std::move(found.tally), std::move(*link)},
                        bench,
                        hooks};
    if (const Status begun = recording.begin_again(found); !begun)
        return recording.abandon(begun.error());
    return recording.run();
}

} // namespace dropledger::recorder
