#include "bench/commands/shell/fields.hpp"

#include <algorithm>
#include <optional>
#include <string_view>

namespace dropledger::cli {

namespace {

std::optional<std::string> option_of(std::string_view field, const std::set<std::string>& options) {
    std::string option = "--" + std::string(field);
    std::replace(option.begin(), option.end(), '_', '-');
    return options.contains(option) ? std::optional{option} : std::nullopt;
}

std::string translated(std::string_view text, const std::set<std::string>& options) {
    std::string out;
    while (!text.empty()) {
        const std::size_t begin = text.find('`');
        const std::size_t end = begin == std::string_view::npos ? begin : text.find('`', begin + 1);
        if (end == std::string_view::npos)
            return out.append(text);
        const auto option = option_of(text.substr(begin + 1, end - begin - 1), options);
        out.append(text.substr(0, begin));
        out.append(option ? std::string_view{*option} : text.substr(begin, end - begin + 1));
        text.remove_prefix(end + 1);
    }
    return out;
}

} // namespace

Error in_options(Error error, const std::set<std::string>& options) {
    const auto place = option_of(error.where, options);
    if (place && error.kind == ErrorKind::usage)
        error.where = "option " + *place;
    if (error.kind == ErrorKind::usage) // a file's own keys stay what they are
        error.what = translated(error.what, options);
    error.remedy = translated(error.remedy, options);
    return error;
}

} // namespace dropledger::cli
