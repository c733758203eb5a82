#include "bench/commands/setup/bench_try.hpp"

#include "analysis/droplog/settings.hpp"
#include "bench/commands/run/job/interrupts.hpp"
#include "bench/commands/run/job/run_job.hpp"
#include "bench/commands/run/screen/run_screen.hpp"
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

std::string unit_in_words(const recorder::RunPlan& plan, int channel) {
    const std::string unit = recorder::setting_of(plan.channel_settings, channel, "unit");
    const std::string row = recorder::setting_of(plan.channel_settings, channel, "row");
    return fmt::format("{}{}{}", row.empty() ? "" : fmt::format("row {}, ", row),
                       unit.empty() ? "" : unit + ", ", fmt::format("channel {}", channel));
}

recorder::RunPlan plan_for(const recorder::RunPlan& plan, int channel, std::int64_t drops) {
    recorder::RunPlan one;
    one.settings = plan.settings;
    one.settings.push_back({std::string(droplog::purpose_key), std::string(droplog::purpose_try)});
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
    Tries(const RunOptions& options, const recorder::RunPlan& plan, const BenchTry& what,
          const TryTalk& talk, recorder::Clock& clock)
        : options_(options), plan_(plan), what_(what), talk_(talk), clock_(clock),
          time_(now_utc()) {
        std::erase_if(time_, [](char c) { return c == ':' || c == '-'; });
    }

    [[nodiscard]] Result<std::vector<calibration::FewDrops>> all() {
        std::vector<calibration::FewDrops> found;
        for (int channel = 0; channel < 32; ++channel) {
            if (((plan_.order.channel_mask >> static_cast<unsigned>(channel)) & 1U) == 0)
                continue;
            auto confirmed =
                talk_.ask(fmt::format("{}: {} drops", unit_in_words(plan_, channel), what_.drops));
            if (!confirmed)
                return confirmed.error();
            if (!*confirmed)
                return found;
            auto one = drive(channel, std::move(**confirmed));
            if (!one)
                return one.error();
            found.push_back(*std::move(one));
        }
        return found;
    }

private:
    [[nodiscard]] Result<calibration::FewDrops> drive(int channel,
                                                      recorder::StartConfirmed&& confirmed) {
        recorder::RunPlan plan = plan_for(plan_, channel, what_.drops);
        plan.start = std::move(confirmed);
        plan.discard_held = options_.discard_held;
        const std::string log =
            fmt::format("{}/{}-channel-{}.droplog", what_.folder, time_, channel);
        const int baud = static_cast<int>(options_.baud.value_or(link::default_baud));
        const recorder::Bench bench{[&] { return link::open_transport(what_.port, baud); }, clock_};
        const auto summary = recorder::record(std::move(plan), log, bench, talk_.hooks);
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
    const TryTalk& talk_;
    recorder::Clock& clock_;
    std::string time_;
};

} // namespace

TryTalk talk_at_terminal(const RunOptions& options, recorder::Clock& clock) {
    using Asked = Result<std::optional<recorder::StartConfirmed>>;
    print_cautions();
    heed_signals();
    TryTalk talk;
    talk.hooks.interrupts = interrupts_so_far;
    talk.hooks.say = [](const std::string& text) { tell("  {}\n", text); };
    talk.ask = [yes = options.yes, &clock](const std::string& unit) -> Asked {
        tell("{}\n", unit);
        const recorder::StartPrompt prompt(clock);
        if (yes)
            return Asked{prompt.told_beforehand()};
        auto confirmed = prompt.ask([] { return answer_at_terminal(start_question); });
        if (!confirmed && is_asked())
            return Asked{std::nullopt};
        if (!confirmed)
            return confirmed.error();
        return Asked{std::move(*confirmed)};
    };
    return talk;
}

Result<std::vector<calibration::FewDrops>> try_on_bench(const RunOptions& options,
                                                        const recorder::RunPlan& plan,
                                                        const BenchTry& what, const TryTalk& talk,
                                                        recorder::Clock& clock) {
    std::error_code problem;
    fs::create_directories(what.folder, problem);
    if (problem)
        return device_error(what.folder, problem.message(), "choose a folder that can be written");
    return Tries(options, plan, what, talk, clock).all();
}

} // namespace dropledger::cli
