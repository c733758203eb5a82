#include "bench/commands/run/settings/run_channels.hpp"

#include "analysis/base/text.hpp"
#include "analysis/droplog/settings.hpp"
#include "bench/commands/run/settings/run_fields.hpp"
#include "bench/commands/shell/suggest.hpp"
#include "bench/commands/shell/usage.hpp"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <array>

namespace dropledger::cli {

namespace {

constexpr int most_channels = highest_channel + 1;

bool is_channel(std::int64_t number) {
    return number >= 0 && number <= highest_channel;
}

Error no_channel(const std::string& where, std::string_view text) {
    return usage(where, fmt::format("`{}` is not a channel", text),
                 fmt::format("give a number from 0 to {}", highest_channel));
}

class ChannelMaker {
public:
    explicit ChannelMaker(const RunOptions& options)
        : options_(options), chooses_units_(chooses_units()) {}
    [[nodiscard]] Result<ChannelPlan> make();

private:
    [[nodiscard]] Status take_channels();
    [[nodiscard]] Status take_channel_list();
    [[nodiscard]] Status take_range(std::string_view part);
    [[nodiscard]] bool chooses_units() const;
    [[nodiscard]] Status take_chosen_units();
    [[nodiscard]] bool takes_part(int channel) const {
        return std::binary_search(channels_.begin(), channels_.end(), channel);
    }
    void count_channels();
    [[nodiscard]] Status take_common_settings();
    [[nodiscard]] Status take_file_settings();
    [[nodiscard]] Status take_units();
    [[nodiscard]] Status take_unit(const std::string& text, std::size_t& in_order);
    [[nodiscard]] Status take_own_settings();
    [[nodiscard]] Status take(const std::string& where, const recorder::ChannelSetting& setting);
    [[nodiscard]] Status check(const std::string& where,
                               const recorder::ChannelSetting& setting) const;

    const RunOptions& options_;
    bool chooses_units_;
    ChannelPlan plan_;
    std::vector<int> channels_;
};

const ChannelField* field_of(std::string_view key) {
    const auto fields = channel_fields();
    const auto found = std::find_if(fields.begin(), fields.end(),
                                    [key](const ChannelField& field) { return field.key == key; });
    return found == fields.end() ? nullptr : &*found;
}

std::string known_keys() {
    std::vector<std::string_view> keys;
    for (const ChannelField& field : channel_fields())
        keys.push_back(field.key);
    return fmt::format("{}", fmt::join(keys, ", "));
}

std::optional<std::string> as_text(const std::optional<std::string>& value) {
    return value;
}
std::optional<std::string> as_text(const std::optional<std::int64_t>& value) {
    return value ? std::optional{std::to_string(*value)} : std::nullopt;
}
std::optional<std::string> as_text(const std::optional<double>& value) {
    return value ? std::optional{fmt::format("{}", *value)} : std::nullopt;
}

Status ChannelMaker::take_channel_list() {
    if (options_.channels && options_.channel_mask)
        return usage("--channel-mask", "given together with --channels", "give one of them");
    if (const auto mask = options_.channel_mask) {
        if (*mask < 1 || *mask >= (1 << most_channels))
            return usage("--channel-mask", fmt::format("{} is out of range", *mask),
                         "give 1 to 65535");
        for (int channel = 0; channel < most_channels; ++channel)
            if (((*mask >> channel) & 1) != 0)
                channels_.push_back(channel);
        return Done{};
    }
    const std::string list = options_.channels.value_or("");
    for (const std::string_view part : split(list, ','))
        if (const Status taken = take_range(trim(part)); !taken)
            return taken.error();
    return Done{};
}

// `3`, or `1-6`.
Status ChannelMaker::take_range(std::string_view part) {
    const std::size_t dash = part.find('-', 1);
    const auto first = parse_int(trim(part.substr(0, dash)));
    const auto last =
        dash == std::string_view::npos ? first : parse_int(trim(part.substr(dash + 1)));
    if (!first || !last || !is_channel(*first) || !is_channel(*last) || *last < *first)
        return usage("--channels", fmt::format("`{}` is not a channel", part),
                     "give numbers from 0 to 15, as 0,2 or as 0-5");
    for (std::int64_t channel = *first; channel <= *last; ++channel)
        channels_.push_back(static_cast<int>(channel));
    return Done{};
}

// With units in the settings file, one that is named by its serial alone chooses among them.
bool ChannelMaker::chooses_units() const {
    const auto names_unit = [](const auto& one) { return one.key == "unit"; };
    return !options_.unit.empty() && !options_.channels && !options_.channel_mask &&
           std::any_of(options_.channel_settings.begin(), options_.channel_settings.end(),
                       names_unit) &&
           std::none_of(options_.unit.begin(), options_.unit.end(), [](const std::string& text) {
               return text.find('=') != std::string::npos;
           });
}

Status ChannelMaker::take_chosen_units() {
    std::vector<std::string_view> known;
    for (const auto& one : options_.channel_settings)
        if (one.key == "unit")
            known.push_back(one.value);
    for (const std::string& wanted : options_.unit) {
        const auto found =
            std::find_if(options_.channel_settings.begin(), options_.channel_settings.end(),
                         [&](const auto& one) { return one.key == "unit" && one.value == wanted; });
        if (found == options_.channel_settings.end()) {
            const std::string guess = did_you_mean(wanted, known);
            return usage("--unit", fmt::format("the settings file has no unit {}", wanted),
                         guess.empty() ? fmt::format("it has {}", fmt::join(known, ", ")) : guess);
        }
        channels_.push_back(found->channel);
    }
    return Done{};
}

void ChannelMaker::count_channels() {
    std::size_t wanted = std::max<std::size_t>(options_.unit.size(), 1);
    for (const auto& setting : options_.channel_settings)
        wanted = std::max(wanted, static_cast<std::size_t>(std::max(setting.channel, 0)) + 1);
    for (std::size_t channel = 0; channel < wanted; ++channel)
        channels_.push_back(static_cast<int>(channel));
}

Status ChannelMaker::take_channels() {
    if (options_.channels || options_.channel_mask) {
        if (const Status taken = take_channel_list(); !taken)
            return taken.error();
    } else if (chooses_units_) {
        if (const Status taken = take_chosen_units(); !taken)
            return taken.error();
    } else {
        count_channels();
    }
    if (channels_.size() > most_channels)
        return usage("--unit",
                     fmt::format("{} channels are more than {}", channels_.size(), most_channels));
    std::sort(channels_.begin(), channels_.end());
    if (std::adjacent_find(channels_.begin(), channels_.end()) != channels_.end())
        return usage(chooses_units_ ? "--unit" : "--channels", "names a channel twice");
    for (const int channel : channels_)
        plan_.mask |= 1U << static_cast<unsigned>(channel);
    return Done{};
}

Status ChannelMaker::take(const std::string& where, const recorder::ChannelSetting& setting) {
    if (const Status fits = check(where, setting); !fits)
        return fits.error();
    const auto same =
        std::find_if(plan_.settings.begin(), plan_.settings.end(), [&](const auto& other) {
            return other.channel == setting.channel && other.key == setting.key;
        });
    if (same == plan_.settings.end())
        plan_.settings.push_back(setting);
    else
        same->value = setting.value;
    return Done{};
}

Status ChannelMaker::take_file_settings() {
    const bool only_some = chooses_units_ || options_.channels || options_.channel_mask;
    for (const recorder::ChannelSetting& setting : options_.channel_settings)
        if (only_some && !takes_part(setting.channel))
            continue; // the file is of the whole machine
        else if (const Status taken = take("--settings, [[channel]]", setting); !taken)
            return taken.error();
    return Done{};
}

Status ChannelMaker::take_common_settings() {
    for (const ChannelField& field : channel_fields()) {
        if (!field.for_all)
            continue;
        const auto value = std::visit(
            [this](const auto member) { return as_text(options_.*member); }, field.for_all->target);
        if (!value)
            continue;
        for (const int channel : channels_)
            if (const Status taken = take(option_name(field.for_all->name),
                                          {channel, std::string(field.key), *value});
                !taken)
                return taken.error();
    }
    return Done{};
}

Status ChannelMaker::take_units() {
    if (chooses_units_)
        return Done{};
    std::size_t in_order = 0;
    for (const std::string& text : options_.unit)
        if (const Status taken = take_unit(text, in_order); !taken)
            return taken;
    return Done{};
}

Status ChannelMaker::take_unit(const std::string& text, std::size_t& in_order) {
    const std::size_t equals = text.find('=');
    const auto named =
        equals == std::string::npos ? std::nullopt : parse_int(text.substr(0, equals));
    if (named && !is_channel(*named))
        return no_channel("--unit", text.substr(0, equals));
    if (!named && in_order >= channels_.size())
        return usage("--unit", fmt::format("more units than the {} channels", channels_.size()));
    const int channel = named ? static_cast<int>(*named) : channels_[in_order++];
    return take("--unit", {channel, "unit", named ? text.substr(equals + 1) : text});
}

Status ChannelMaker::take_own_settings() {
    for (const std::string& text : options_.channel_set) {
        const std::size_t colon = std::min(text.find(':'), text.size());
        const std::size_t equals = text.find('=');
        const auto channel = parse_int(text.substr(0, colon));
        if (!channel || equals == std::string::npos || equals < colon)
            return usage("--channel-set", fmt::format("`{}` is not CH:KEY=VALUE", text),
                         "like 0:lead_us=8000");
        if (!is_channel(*channel))
            return no_channel("--channel-set", text.substr(0, colon));
        const recorder::ChannelSetting setting{static_cast<int>(*channel),
                                               text.substr(colon + 1, equals - colon - 1),
                                               text.substr(equals + 1)};
        if (const Status taken = take("--channel-set", setting); !taken)
            return taken.error();
    }
    return Done{};
}

Result<ChannelPlan> ChannelMaker::make() {
    using Step = Status (ChannelMaker::*)();
    constexpr std::array<Step, 5> steps{
        &ChannelMaker::take_channels, &ChannelMaker::take_file_settings,
        &ChannelMaker::take_common_settings, &ChannelMaker::take_units,
        &ChannelMaker::take_own_settings};
    for (const Step step : steps)
        if (const Status taken = (this->*step)(); !taken)
            return taken.error();
    return std::move(plan_);
}

Status ChannelMaker::check(const std::string& where,
                           const recorder::ChannelSetting& setting) const {
    const auto& [channel, key, value] = setting;
    if (!takes_part(channel))
        return usage(where, fmt::format("channel {} is not part of this run", channel),
                     "see --channels");
    const ChannelField* const field = field_of(key);
    if (field == nullptr)
        return usage(where, fmt::format("channels have no setting `{}`", key),
                     "give " + known_keys());
    if (field->value == ChannelValue::text)
        return check_text(where, value);
    if (field->value == ChannelValue::place) {
        if (!droplog::gate_place_of(value))
            return usage(where, fmt::format("`{}` is not a place", value),
                         "give above or below (the valve)");
        return Done{};
    }
    if (field->value == ChannelValue::height_mm) {
        const auto height_mm = parse_double(value);
        if (!height_mm || *height_mm < 0.0 || *height_mm > 10'000.0)
            return usage(where, fmt::format("`{}` is no height", value), "give millimetres");
        return Done{};
    }
    const bool from_one = field->value == ChannelValue::from_one;
    const auto number = parse_int(value);
    if (!number || *number < (from_one ? 1 : 0))
        return usage(where, fmt::format("`{}` is no value for {}", value, key),
                     from_one ? "give a whole number from 1" : "give whole microseconds");
    return Done{};
}

} // namespace

Result<ChannelPlan> channels_of(const RunOptions& options) {
    return ChannelMaker{options}.make();
}

} // namespace dropledger::cli
