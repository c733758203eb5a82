#include "bench/commands/simulate/scenarios.hpp"

#include "bench/commands/inputs/profiles.hpp"
#include "fixture_scenarios.hpp"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <filesystem>
#include <vector>

namespace dropledger::cli {

Result<std::string_view> known_scenario(const std::string& name) {
    const auto all = scenarios::texts();
    const auto found =
        std::find_if(all.begin(), all.end(), [&](const auto& text) { return text.name == name; });
    if (found != all.end())
        return found->content;
    std::vector<std::string_view> names;
    names.reserve(all.size());
    for (const auto& text : all)
        names.push_back(text.name);
    return usage_error("option --scenario", fmt::format("no scenario is called '{}'", name),
                       fmt::format("one of: {}", fmt::join(names, ", ")));
}

bool is_scenario_file(const std::string& name_or_file) {
    std::error_code problem;
    return names_a_file(name_or_file) || std::filesystem::exists(name_or_file, problem);
}

} // namespace dropledger::cli
