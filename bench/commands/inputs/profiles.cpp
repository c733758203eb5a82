#include "bench/commands/inputs/profiles.hpp"

#include "bench/commands/shell/suggest.hpp"
#include "bench/io/file_source.hpp"
#include "calibration_profiles.hpp"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>

namespace dropledger::cli {

namespace {

const profiles::Text* embedded(std::string_view name) {
    const auto all = profiles::texts();
    const auto found =
        std::find_if(all.begin(), all.end(), [&](const auto& text) { return text.name == name; });
    return found == all.end() ? nullptr : &*found;
}

Result<verdict::Profile> from_name(const std::string& name) {
    if (const profiles::Text* const text = embedded(name))
        return verdict::parse_profile(text->content, fmt::format("profile {}", name));
    const auto names = profile_names();
    const std::string guess = did_you_mean(name, {names.begin(), names.end()});
    return usage_error("option --profile", fmt::format("no profile is called '{}'", name),
                       fmt::format("{}{}give a file (NAME.toml) or one of: {}", guess,
                                   guess.empty() ? "" : " Else ", fmt::join(names, ", ")));
}

// The profile that the log names, where it is one of ours and for this mode; else the general one.
Result<audit::ProfileChoice> by_the_log(const std::string* stated, ledger::Mode mode) {
    if (stated != nullptr && embedded(*stated) != nullptr) {
        auto profile = from_name(*stated);
        if (!profile)
            return profile.error();
        if (profile->mode == mode)
            return audit::ProfileChoice{*std::move(profile), ""};
    }
    const std::string general{ledger::name_of(mode)};
    auto profile = from_name(general);
    if (!profile)
        return profile.error();
    return audit::ProfileChoice{
        *std::move(profile),
        stated == nullptr || stated->empty()
            ? fmt::format("No profile was named: judged by the general one, '{}'.", general)
            : fmt::format("The log's profile '{}' is not one of ours for this mode: judged by the "
                          "general one, '{}'; name another with --profile.",
                          *stated, general)};
}

} // namespace

bool names_a_file(const std::string& name) {
    return name.find('/') != std::string::npos || name.ends_with(".toml");
}

std::vector<std::string> profile_names() {
    std::vector<std::string> names;
    for (const profiles::Text& text : profiles::texts())
        names.emplace_back(text.name);
    return names;
}

Result<verdict::Profile> find_profile(const std::string& name_or_file) {
    if (!names_a_file(name_or_file))
        return from_name(name_or_file);
    constexpr std::size_t longest_profile = 1U << 20U; // bytes
    return files::whole_file(name_or_file, longest_profile).and_then([&](const std::string& text) {
        return verdict::parse_profile(text, name_or_file);
    });
}

audit::ChooseProfile profile_chooser(std::optional<std::string> name_or_file) {
    return [name_or_file = std::move(name_or_file)](
               const droplog::Header& header, ledger::Mode mode) -> Result<audit::ProfileChoice> {
        if (name_or_file) {
            auto profile = find_profile(*name_or_file);
            if (!profile)
                return profile.error();
            return audit::ProfileChoice{*std::move(profile), ""};
        }
        return by_the_log(header.find("tolerance"), mode);
    };
}

} // namespace dropledger::cli
