#include "bench/recorder/recorder.hpp"

#include "bench/recorder/recording.hpp"

#include <utility>

namespace dropledger::recorder {

namespace {

LiveTally empty_tally(const RunPlan& plan, const Hooks& hooks) {
    LiveTally tally;
    tally.watch(hooks.settled);
    for (const ChannelSetting& setting : plan.channel_settings)
        if (setting.value == "above" &&
            (setting.key == "gate0_place" || setting.key == "gate1_place"))
            tally.set_gate_above(setting.channel, setting.key == "gate1_place" ? 1 : 0);
    return tally;
}

Leave leave_of(RunPlan& plan) {
    return {.start = std::exchange(plan.start, std::nullopt), .discard_held = plan.discard_held};
}

// The log cannot be gone on with: nobody records what moves, if anything does.
Error refuse(link::Transport& link, Error error) {
    static_cast<void>(link.write(droplog::encode("halt") + '\n'));
    return error;
}

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
    auto file = LogFile::open_existing(path); // locked before it is read
    if (!file)
        return refuse(**link, file.error());
    auto found = recover(path, hooks.settled);
    if (!found)
        return refuse(**link, found.error());
    if (const Status cut = file->cut_to(found->whole_bytes); !cut)
        return refuse(**link, cut.error());
    plan.order = found->order;
    Protocol protocol{plan.order, plan.timings, leave_of(plan)};
    protocol.restore(*found);
    Recording recording{plan,
                        {std::move(*file), std::move(found->chain), std::move(protocol),
                         std::move(found->tally), std::move(*link)},
                        bench,
                        hooks};
    if (const Status begun = recording.begin_again(*found); !begun)
        return recording.abandon(begun.error());
    return recording.run();
}

} // namespace dropledger::recorder
