#include "bench/commands/run/settings/run_channels.hpp"
#include "bench/commands/run/settings/run_fields.hpp"
#include "bench/commands/run/settings/run_options.hpp"
#include "bench/commands/shell/usage.hpp"

#include "analysis/base/text.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>

namespace dropledger::cli {

namespace {

struct Range {
    double low;
    double high;
    const char* unit;
};
constexpr Range spacing_mm_range{1.0, 10'000.0, "mm"};
constexpr Range rate_per_m_range{0.1, 1000.0, "seeds per metre"};
constexpr Range speed_mps_range{0.01, 5.0, "m/s"};
constexpr std::int64_t most_drops = 1'000'000'000;
constexpr std::int64_t most_count = 50;

// A number in its range, in thousandths or millionths of the option's unit.
Result<std::int64_t> scaled(const char* option, const std::optional<double>& value, Range range,
                            double scale) {
    if (!value)
        return usage(option, "missing: this mode needs it");
    if (!std::isfinite(*value) || *value < range.low || *value > range.high)
        return usage(option, fmt::format("{} is out of range", *value),
                     fmt::format("give {} to {} {}", range.low, range.high, range.unit));
    return static_cast<std::int64_t>(std::llround(*value * scale));
}

class PlanMaker {
public:
    explicit PlanMaker(const RunOptions& options) : options_(options) {}
    [[nodiscard]] Result<recorder::RunPlan> make();

private:
    [[nodiscard]] Status take_mode();
    [[nodiscard]] Status take_drops_mode(bool portion);
    [[nodiscard]] Status take_line_mode();
    [[nodiscard]] Status take_pace();
    [[nodiscard]] Status take_texts();
    [[nodiscard]] Status take_extra();
    [[nodiscard]] Status take_channels();
    void set(const char* key, std::string value) {
        plan_.settings.push_back({key, std::move(value)});
    }

    const RunOptions& options_;
    recorder::RunPlan plan_;
};

Result<recorder::RunPlan> PlanMaker::make() {
    using Step = Status (PlanMaker::*)();
    constexpr std::array<Step, 5> steps{&PlanMaker::take_texts, &PlanMaker::take_mode,
                                        &PlanMaker::take_pace, &PlanMaker::take_extra,
                                        &PlanMaker::take_channels};
    for (const Step step : steps)
        if (const Status taken = (this->*step)(); !taken)
            return taken.error();
    return std::move(plan_);
}

Status PlanMaker::take_mode() {
    const auto mode = mode_of(options_);
    if (!mode)
        return mode.error();
    plan_.order.mode = *mode;
    set("mode", std::string{droplog::name_of(*mode)});
    return *mode == droplog::Mode::line ? take_line_mode()
                                        : take_drops_mode(*mode == droplog::Mode::portion);
}

Status PlanMaker::take_drops_mode(bool portion) {
    if (options_.rate_per_m)
        return usage("--rate-per-m", "belongs to line mode", "give --spacing-mm");
    const auto spacing_um = scaled("--spacing-mm", options_.spacing_mm, spacing_mm_range, 1000.0);
    if (!spacing_um)
        return spacing_um.error();
    if (portion && !options_.count)
        return usage("--count", "missing: portion mode needs the seeds per drop");
    const std::int64_t count = options_.count.value_or(1);
    if (count < 1 || count > most_count || (!portion && count != 1))
        return usage("--count", fmt::format("{} seeds per drop do not fit this mode", count),
                     portion ? fmt::format("give 1 to {}", most_count)
                             : "single mode drops one seed");
    plan_.order.spacing_um = *spacing_um;
    plan_.order.count = count;
    set("spacing_um", std::to_string(*spacing_um));
    set("count", std::to_string(count));
    return Done{};
}

Status PlanMaker::take_line_mode() {
    if (options_.spacing_mm || options_.count)
        return usage(options_.count ? "--count" : "--spacing-mm", "does not belong to line mode",
                     "give --rate-per-m");
    const auto rate_milli = scaled("--rate-per-m", options_.rate_per_m, rate_per_m_range, 1000.0);
    if (!rate_milli)
        return rate_milli.error();
    plan_.order.spacing_um = 1'000'000'000 / *rate_milli;
    set("rate_per_m_milli", std::to_string(*rate_milli));
    return Done{};
}

Status PlanMaker::take_pace() {
    const auto speed_um_s = scaled("--speed-mps", options_.speed_mps, speed_mps_range, 1e6);
    if (!speed_um_s)
        return speed_um_s.error();
    plan_.order.speed_um_s = *speed_um_s;
    set("speed_um_s", std::to_string(*speed_um_s));
    if (!options_.drops)
        return usage("--drops", "missing: say how many drops the run is to have (line mode: seeds)",
                     "dropledger plan tells how many are enough");
    if (*options_.drops < 1 || *options_.drops > most_drops)
        return usage("--drops", fmt::format("{} is out of range", *options_.drops),
                     fmt::format("give 1 to {}", most_drops));
    plan_.order.drops = *options_.drops;
    return Done{};
}

// A profile may be named by its file; the log keeps its name.
std::optional<std::string> profile_name(const std::optional<std::string>& profile) {
    if (!profile || !profile->ends_with(".toml"))
        return profile;
    const std::string file = profile->substr(profile->find_last_of('/') + 1);
    return file.substr(0, file.size() - 5);
}

Status PlanMaker::take_texts() {
    struct Text {
        const char* option;
        const char* key;
        std::optional<std::string> value;
    };
    const std::array<Text, 5> texts{{{"--bench", "bench", options_.bench},
                                     {"--operator", "operator", options_.person},
                                     {"--crop", "crop", options_.crop},
                                     {"--seed-lot", "seed_lot", options_.seed_lot},
                                     {"--profile", "tolerance", profile_name(options_.profile)}}};
    for (const Text& text : texts) {
        if (!text.value)
            continue;
        if (const Status fits = check_text(text.option, *text.value); !fits)
            return fits.error();
        set(text.key, *text.value);
    }
    if (const auto mass_mg = options_.thousand_seed_mass_mg) {
        if (*mass_mg < 1)
            return usage("--thousand-seed-mass-mg", fmt::format("{} is not a mass", *mass_mg));
        set("thousand_seed_mass_mg", std::to_string(*mass_mg));
    }
    return Done{};
}

bool is_key(std::string_view text) {
    constexpr std::size_t longest_key = 40;
    const auto fits = [](char c) {
        return (c >= 'a' && c <= 'z') || (c >= '0' && c <= '9') || c == '_';
    };
    return !text.empty() && text.size() <= longest_key && text.front() >= 'a' &&
           std::all_of(text.begin(), text.end(), fits);
}

// Of a key that has one of its own; else empty.
std::string own_option(std::string_view key) {
    if (key == "channel_mask")
        return option_name("channels");
    for (const RunField& field : run_fields())
        if (!field.log_key.empty() && field.log_key == key)
            return option_name(field.name);
    return "";
}

Status PlanMaker::take_extra() {
    for (const std::string& text : options_.set) {
        const std::size_t equals = std::min(text.find('='), text.size());
        const std::string key = text.substr(0, equals);
        if (equals == text.size() || !is_key(key))
            return usage("--set", fmt::format("`{}` is not KEY=VALUE", text),
                         "keys are small letters, digits and _");
        if (const std::string own = own_option(key); !own.empty())
            return usage("--set", fmt::format("`{}` has its own option", key), "give " + own);
        const std::string value = text.substr(equals + 1);
        if (const Status fits = check_text("--set " + key, value); !fits)
            return fits.error();
        plan_.settings.push_back({key, value});
    }
    return Done{};
}

Status PlanMaker::take_channels() {
    auto channels = channels_of(options_);
    if (!channels)
        return channels.error();
    plan_.order.channel_mask = channels->mask;
    plan_.channel_settings = std::move(channels->settings);
    return Done{};
}

} // namespace

Result<droplog::Mode> mode_of(const RunOptions& options) {
    const std::string named = options.mode.value_or("single");
    if (const auto mode = droplog::mode_of(named))
        return *mode;
    return usage("--mode", fmt::format("`{}` is not a mode", named),
                 "give single, portion or line");
}

Result<recorder::RunPlan> plan_of(const RunOptions& options) {
    return PlanMaker{options}.make();
}

} // namespace dropledger::cli
