#include "bench/commands/setup/bench_try.hpp"

#include "bench/commands/run/interrupts.hpp"
#include "bench/commands/run/run_job.hpp"
#include "bench/commands/run/run_screen.hpp"
#include "bench/commands/shell/dates.hpp"
#include "bench/commands/shell/standard.hpp"
#include "bench/io/file_source.hpp"
#include "bench/link/transport.hpp"
#include "bench/recorder/recorder.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <filesystem>

namespace dropledger::cli {

namespace {

namespace fs = std::filesystem;

std::string setting(const recorder::RunPlan& plan, int channel, std::string_view key) {
    for (const recorder::ChannelSetting& one : plan.channel_settings)
        if (one.channel == channel && one.key == key)
            return one.value;
    return "";
}

std::string unit_in_words(const recorder::RunPlan& plan, int channel) {
    const std::string unit = setting(plan, channel, "unit");
    const std::string row = setting(plan, channel, "row");
    return fmt::format("{}{}{}", row.empty() ? "" : fmt::format("row {}, ", row),
                       unit.empty() ? "" : unit + ", ", fmt::format("channel {}", channel));
}

recorder::RunPlan plan_for(const recorder::RunPlan& plan, int channel, std::int64_t drops) {
    recorder::RunPlan one;
    one.settings = plan.settings;
    one.order = plan.order;
    one.order.channel_mask = 1U << static_cast<unsigned>(channel);
    one.order.drops = drops;
    one.run_id = fresh_run_id();
    one.remarks.emplace_back("a few drops to try the machine's settings");
    std::copy_if(plan.channel_settings.begin(), plan.channel_settings.end(),
                 std::back_inserter(one.channel_settings),
                 [&](const recorder::ChannelSetting& each) { return each.channel == channel; });
    return one;
}

class Tries {
public:
    Tries(const RunOptions& options, const recorder::RunPlan& plan, const BenchTry& what)
        : options_(options), plan_(plan), what_(what), time_(now_utc()) {
        std::erase_if(time_, [](char c) { return c == ':' || c == '-'; });
    }

    [[nodiscard]] Result<std::vector<calibration::FewDrops>> all() {
        std::vector<calibration::FewDrops> found;
        print_cautions();
        heed_signals();
        for (int channel = 0; channel < 32; ++channel) {
            if (((plan_.order.channel_mask >> static_cast<unsigned>(channel)) & 1U) == 0)
                continue;
            tell("{}: {} drops\n", unit_in_words(plan_, channel), what_.drops);
            auto confirmed = ask();
            if (!confirmed && !options_.yes && is_asked())
                return found;
            if (!confirmed)
                return confirmed.error();
            auto one = drive(channel, std::move(*confirmed));
            if (!one)
                return one.error();
            found.push_back(*std::move(one));
        }
        return found;
    }

private:
    [[nodiscard]] Result<recorder::StartConfirmed> ask() {
        const recorder::StartPrompt prompt(clock_);
        if (options_.yes)
            return prompt.told_beforehand();
        return prompt.ask([] { return answer_at_terminal(start_question); });
    }

    [[nodiscard]] Result<calibration::FewDrops> drive(int channel,
                                                      recorder::StartConfirmed&& confirmed) {
        recorder::RunPlan plan = plan_for(plan_, channel, what_.drops);
        plan.start = std::move(confirmed);
        plan.discard_held = options_.discard_held;
        const std::string log =
            fmt::format("{}/{}-channel-{}.droplog", what_.folder, time_, channel);
        const int baud = static_cast<int>(options_.baud.value_or(link::default_baud));
        const recorder::Bench bench{[&] { return link::open_transport(what_.port, baud); }, clock_};
        recorder::Hooks hooks;
        hooks.interrupts = interrupts_so_far;
        hooks.say = [](const std::string& text) { tell("  {}\n", text); };
        const auto summary = recorder::record(std::move(plan), log, bench, hooks);
        if (!summary)
            return summary.error();
        if (!summary->as_planned)
            return device_error(log, fmt::format("the run ended early: {}", summary->end_reason),
                                "clear its cause, then run setup again");
        return calibration::few_drops(files::open_file(log), log, channel);
    }

    const RunOptions& options_;
    const recorder::RunPlan& plan_;
    const BenchTry& what_;
    std::string time_;
    recorder::SystemClock clock_;
};

} // namespace

Result<std::vector<calibration::FewDrops>>
try_on_bench(const RunOptions& options, const recorder::RunPlan& plan, const BenchTry& what) {
    std::error_code problem;
    fs::create_directories(what.folder, problem);
    if (problem)
        return device_error(what.folder, problem.message(), "choose a folder that can be written");
    return Tries(options, plan, what).all();
}

} // namespace dropledger::cli
