#include "bench/commands/run/job/run_job.hpp"

#include "bench/commands/inputs/profiles.hpp"
#include "bench/commands/run/settings/run_calibration.hpp"
#include "bench/commands/run/settings/run_checks.hpp"
#include "bench/commands/shell/usage.hpp"
#include "bench/io/key_file.hpp"
#include "bench/recorder/log_file.hpp"
#include "bench/recorder/protocol/recovery.hpp"

#include <fmt/chrono.h>
#include <fmt/format.h>

#include <array>
#include <ctime>
#include <random>

namespace dropledger::cli {

namespace {

std::tm now_utc(recorder::Clock& clock) {
    return fmt::gmtime(static_cast<std::time_t>(clock.unix_us() / 1'000'000));
}

// The rule that these options ask for; refused where the profile states none.
Result<verdict::StoppingRule> rule_of(const RunOptions& options) {
    const auto mode = mode_of(options);
    if (!mode)
        return mode.error();
    if (*mode == droplog::Mode::line)
        return usage("--until-decided", "a line has no commanded drops to decide by",
                     "give the number of seeds with --drops");
    const auto profile =
        find_profile(options.profile.value_or(std::string{droplog::name_of(*mode)}));
    if (!profile)
        return profile.error();
    return verdict::stopping_rule(*profile, options.drops);
}

// The one named, else the general one of the mode, as an audit would choose.
std::optional<verdict::Profile> profile_for_screen(const std::string& name, droplog::Mode mode) {
    if (!name.empty())
        if (auto named = find_profile(name); named && named->mode == mode)
            return *std::move(named);
    auto general = find_profile(std::string{droplog::name_of(mode)});
    return general ? std::optional{*std::move(general)} : std::nullopt;
}

std::string log_name(const RunOptions& options, recorder::Clock& clock) {
    return options.log.value_or(fmt::format("run-{:%Y%m%dT%H%M%SZ}.droplog", now_utc(clock)));
}

Result<Job> new_job(RunOptions options, const book::Book* book, recorder::Clock& clock) {
    Job job;
    if (options.until_decided) {
        auto asked = rule_of(options);
        if (!asked)
            return asked.error();
        job.rule = *std::move(asked);
        options.drops = job.rule->most;
    }
    auto plan = plan_of(options);
    if (!plan)
        return plan.error();
    job.plan = *std::move(plan);
    job.plan.run_id = fresh_run_id();
    auto doubts = check_plan(options, job.plan);
    if (!doubts)
        return doubts.error();
    job.log = log_name(options, clock);
    job.channels = job.plan.channel_settings;
    job.profile = profile_for_screen(options.profile.value_or(""), job.plan.order.mode);
    if (const Status free = recorder::LogFile::may_create(job.log); !free)
        return free.error();
    if (job.rule)
        job.plan.remarks = verdict::remarks_of(*job.rule);
    auto says = calibrate_plan(options, book, fmt::format("{:%Y-%m-%d}", now_utc(clock)), job.plan);
    if (!says)
        return says.error();
    job.says = *std::move(doubts);
    job.says.insert(job.says.end(), says->begin(), says->end());
    return job;
}

// What a resumed run takes from its log, so that it cannot be given again.
Status only_what_resume_takes(const RunOptions& options) {
    const bool others = options.mode || options.spacing_mm || options.count || options.rate_per_m ||
                        options.speed_mps || options.drops || options.until_decided ||
                        options.log || options.calibration || options.channels ||
                        options.channel_mask || !options.unit.empty() ||
                        !options.channel_set.empty() || !options.set.empty();
    if (others)
        return usage(
            "--resume", "given together with the settings of a new run",
            "a resumed run keeps those of its log: give --port, --baud, --key and --yes only");
    return Done{};
}

std::string left_in_words(const recorder::Recovered& found) {
    const auto rest = recorder::rest_of(found.order, found.tally);
    return rest ? fmt::format("Of {} drops a channel {} are left as far as this log goes; what "
                              "the controller still holds is fetched first.",
                              found.order.drops, rest->drops)
                : std::string{};
}

Result<Job> old_job(const RunOptions& options) {
    const std::string& log = *options.resume;
    if (const Status fits = only_what_resume_takes(options); !fits)
        return fits.error();
    auto found =
        recorder::recover(log); // only to say early what is wrong with it; read again under lock
    if (!found)
        return found.error();
    Job job;
    job.plan.order = found->order;
    job.log = log;
    job.goes_on = true;
    job.was_started = found->started;
    job.left = left_in_words(*found);
    job.channels = found->channel_settings;
    job.profile = profile_for_screen(found->tolerance, found->order.mode);
    job.may_start = found->ended() ? found->may_go_on() : !found->started || !job.left.empty();
    const auto stated = verdict::stated_rule(found->remarks);
    if (stated.rule.tests_anything())
        job.rule = stated.rule;
    return job;
}

} // namespace

std::string fresh_run_id() {
    std::random_device source;
    std::array<unsigned, 4> words{};
    for (unsigned& word : words)
        word = source();
    words[1] = (words[1] & 0xFFFF0FFFU) | 0x4000U; // version 4, variant 1
    words[2] = (words[2] & 0x3FFFFFFFU) | 0x80000000U;
    return fmt::format("{:08x}-{:04x}-{:04x}-{:04x}-{:04x}{:08x}", words[0], words[1] >> 16U,
                       words[1] & 0xFFFFU, words[2] >> 16U, words[2] & 0xFFFFU, words[3]);
}

Result<Job> job_of(const RunOptions& options, const book::Book* book, recorder::Clock& clock) {
    auto job = options.resume ? old_job(options) : new_job(options, book, clock);
    if (!job)
        return job;
    job->plan.discard_held = options.discard_held;
    if (options.key) {
        const auto key = files::read_key_file(*options.key);
        if (!key)
            return key.error();
        job->plan.key = *key;
    }
    return job;
}

} // namespace dropledger::cli
