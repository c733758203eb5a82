#include "bench/commands/shell/usage.hpp"

#include "analysis/base/text.hpp"

#include <fmt/format.h>

#include <utility>

namespace dropledger::cli {

namespace {

constexpr std::size_t longest_value = 180; // encoded; a line holds 240 with key and check

bool is_level(double level) {
    return level > 0.0 && level < 1.0;
}

} // namespace

Error usage(const std::string& where, std::string what, std::string remedy) {
    return usage_error("option " + where, std::move(what), std::move(remedy));
}

Status check_text(const std::string& where, const std::string& value) {
    if (value.empty())
        return usage(where, "is empty");
    if (percent_encode(value).size() > longest_value)
        return usage(where, "is too long for one line of the log", "shorten it to 60 characters");
    return Done{};
}

Status check_confidence(double level) {
    if (!is_level(level))
        return usage("--confidence", fmt::format("{} is no confidence level", level),
                     "between 0 and 1: 0.95");
    return Done{};
}

Status check_tolerance(double confidence, double content) {
    if (!is_level(confidence) || !(content >= 0.0 && content <= 1.0))
        return usage("--confidence, --content", fmt::format("{}, {}", confidence, content),
                     "both lie between 0 and 1: 0.95");
    return Done{};
}

} // namespace dropledger::cli
