#include "bench/commands/inputs/serials.hpp"

#include "analysis/base/text.hpp"
#include "bench/commands/shell/usage.hpp"

#include <fmt/format.h>

namespace dropledger::cli {

namespace {

constexpr std::int64_t most_serials = 1'000'000;

struct Numbered {
    std::string before;
    std::string digits;
};

Numbered numbered(const std::string& serial) {
    const std::size_t last = serial.find_last_not_of("0123456789");
    const std::size_t at = last == std::string::npos ? 0 : last + 1;
    return {serial.substr(0, at), serial.substr(at)};
}

} // namespace

Result<std::vector<std::string>> serials_of_range(const std::string& option,
                                                  const std::string& range) {
    const Error wrong = usage(option, fmt::format("'{}' is no range of serials", range),
                              "write it as SU-0001..SU-0280");
    const std::size_t dots = range.find("..");
    if (dots == std::string::npos)
        return wrong;
    const Numbered from = numbered(range.substr(0, dots));
    const Numbered to = numbered(range.substr(dots + 2));
    const auto first = parse_int(from.digits);
    const auto last = parse_int(to.digits);
    if (!first || !last || from.before != to.before || *last < *first ||
        *last - *first >= most_serials)
        return wrong;
    std::vector<std::string> serials;
    for (std::int64_t number = *first; number <= *last; ++number)
        serials.push_back(fmt::format("{}{:0{}}", from.before, number, from.digits.size()));
    return serials;
}

Result<std::vector<std::string>> serials_of_list(const std::string& option,
                                                 const std::string& list) {
    std::vector<std::string> all;
    for (const std::string_view part : split(list, ',')) {
        const std::string one{trim(part)};
        if (one.find("..") == std::string::npos) {
            all.push_back(one);
            continue;
        }
        const auto some = serials_of_range(option, one);
        if (!some)
            return some.error();
        all.insert(all.end(), some->begin(), some->end());
    }
    return all;
}

} // namespace dropledger::cli
