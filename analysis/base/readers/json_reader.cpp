#include "analysis/base/readers/json_reader.hpp"

#include <fmt/format.h>
#include <nlohmann/json.hpp>

namespace dropledger {

namespace {

// Brackets outside of texts; more than there are where the text is no JSON, never fewer before its first error.
std::size_t depth_of(std::string_view text) {
    std::size_t depth = 0;
    std::size_t deepest = 0;
    bool quoted = false;
    for (std::size_t i = 0; i < text.size(); ++i) {
        const char c = text[i];
        if (quoted && c == '\\')
            ++i;
        else if (c == '"')
            quoted = !quoted;
        else if (!quoted && (c == '[' || c == '{'))
            deepest = std::max(deepest, ++depth);
        else if (!quoted && (c == ']' || c == '}') && depth > 0)
            --depth;
    }
    return deepest;
}

} // namespace

Result<nlohmann::json> read_json(std::string_view text, const std::string& where) {
    if (text.size() > most_json_bytes)
        return input_error(where,
                           fmt::format("it has over {} bytes, more than is read", most_json_bytes),
                           "take the file as it was written");
    if (depth_of(text) > deepest_json)
        return input_error(where, fmt::format("it is nested deeper than {}", deepest_json),
                           "take the file as it was written");
    nlohmann::json json = nlohmann::json::parse(text, nullptr, false);
    if (json.is_discarded())
        return input_error(where, "it is not JSON", "take the file as it was written");
    return json;
}

} // namespace dropledger
