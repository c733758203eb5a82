#include "bench/commands/shell/usage.hpp"

#include "analysis/base/text.hpp"

#include <utility>

namespace dropledger::cli {

namespace {

constexpr std::size_t longest_value = 180; // encoded; a line holds 240 with key and check

} // namespace

Error usage(const std::string& where, std::string what, std::string remedy) {
    return {ErrorKind::usage, "option " + where, std::move(what), std::move(remedy)};
}

Status check_text(const std::string& where, const std::string& value) {
    if (value.empty())
        return usage(where, "is empty");
    if (percent_encode(value).size() > longest_value)
        return usage(where, "is too long for one line of the log", "shorten it to 60 characters");
    return Done{};
}

} // namespace dropledger::cli
