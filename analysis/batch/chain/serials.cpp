#include "analysis/batch/chain/serials.hpp"

#include "analysis/base/shown_text.hpp"
#include "analysis/base/text.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <optional>
#include <string_view>

namespace dropledger::batch {

namespace {

constexpr std::size_t longest = 100; // characters

bool is_printable(std::string_view text) {
    return std::all_of(text.begin(), text.end(), [](char c) { return c >= ' ' && c <= '~'; });
}

std::string why_not(std::string_view name) {
    if (name.empty())
        return "is empty";
    if (name.size() > longest)
        return fmt::format("is longer than {} characters", longest);
    if (!is_printable(name))
        return "has a character that is not printable ASCII: it may be unseen, or look like "
               "another";
    if (name.front() == ' ' || name.back() == ' ')
        return "begins or ends with a blank";
    return "";
}

// The same for two serials that read alike.
std::string looks_of(std::string_view serial) {
    std::string looks;
    for (const char c : serial) {
        const char upper = c >= 'a' && c <= 'z' ? static_cast<char>(c - 'a' + 'A') : c;
        looks += upper == 'O' ? '0' : upper == 'I' || upper == 'L' ? '1' : upper;
    }
    return looks;
}

struct Numbered {
    std::string_view head;
    std::optional<std::uint64_t> number;
    std::size_t digits = 0;
};

Numbered numbered(std::string_view serial) {
    std::size_t begin = serial.size();
    while (begin > 0 && serial[begin - 1] >= '0' && serial[begin - 1] <= '9')
        --begin;
    return {serial.substr(0, begin), parse_uint(serial.substr(begin)), serial.size() - begin};
}

bool follows(std::string_view before, std::string_view after) {
    const Numbered a = numbered(before);
    const Numbered b = numbered(after);
    return a.number && b.number && a.head == b.head && a.digits == b.digits &&
           *b.number == *a.number + 1;
}

} // namespace

std::vector<std::string> ranges_of(std::span<const std::string> serials) {
    std::vector<std::string> ranges;
    for (std::size_t first = 0; first < serials.size();) {
        std::size_t last = first;
        while (last + 1 < serials.size() && follows(serials[last], serials[last + 1]))
            ++last;
        ranges.push_back(last == first ? serials[first]
                                       : fmt::format("{} to {}", serials[first], serials[last]));
        first = last + 1;
    }
    return ranges;
}

Status check_names(const std::string& batch, std::span<const std::string> serials) {
    if (const std::string why = why_not(batch); !why.empty())
        return usage_error("id", fmt::format("the batch's name '{}' {}", shown_text(batch), why),
                           "give a name in plain letters");
    std::map<std::string, std::string> seen;
    for (const std::string& serial : serials) {
        if (const std::string why = why_not(serial); !why.empty())
            return usage_error("serials", fmt::format("'{}' {}", shown_text(serial), why),
                               "write serials in plain letters and digits");
        const auto [at, fresh] = seen.emplace(looks_of(serial), serial);
        if (!fresh)
            return usage_error("serials",
                               at->second == serial
                                   ? fmt::format("'{}' is there twice", serial)
                                   : fmt::format("'{}' and '{}' read alike", at->second, serial),
                               "every unit needs a serial of its own");
    }
    return Done{};
}

} // namespace dropledger::batch
