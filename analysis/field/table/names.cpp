#include "analysis/field/table/names.hpp"

#include "analysis/base/text.hpp"
#include "analysis/base/utf8.hpp"

#include <algorithm>
#include <cctype>
#include <vector>

namespace dropledger::field {

namespace {

constexpr std::int64_t first_mark = std::int64_t{1} << 40U;
constexpr std::int64_t greatest_number = std::int64_t{1} << 31U;

std::string_view digits_at(std::string_view text, std::size_t at) {
    std::size_t end = at;
    while (end < text.size() && std::isdigit(static_cast<unsigned char>(text[end])) != 0)
        ++end;
    return text.substr(at, end - at);
}

std::string_view without_zeros(std::string_view digits) {
    while (digits.size() > 1 && digits.front() == '0')
        digits.remove_prefix(1);
    return digits;
}

// What is no UTF-8 was written in Latin-1; there a byte is a letter, shown as '?'.
std::string shown(std::string_view text) {
    std::string name(text.substr(0, 60));
    if (!is_utf8(name))
        std::replace_if(
            name.begin(), name.end(), [](char c) { return static_cast<unsigned char>(c) > 127U; },
            '?');
    return name;
}

} // namespace

bool same_name(std::string_view a, std::string_view b) {
    return std::equal(a.begin(), a.end(), b.begin(), b.end(), [](unsigned char x, unsigned char y) {
        return std::tolower(x) == std::tolower(y);
    });
}

bool naturally_less(std::string_view a, std::string_view b) {
    std::size_t i = 0;
    std::size_t j = 0;
    while (i < a.size() && j < b.size()) {
        const auto x = digits_at(a, i);
        const auto y = digits_at(b, j);
        if (!x.empty() && !y.empty()) {
            const auto m = without_zeros(x);
            const auto n = without_zeros(y);
            if (m != n)
                return m.size() != n.size() ? m.size() < n.size() : m < n;
            i += x.size();
            j += y.size();
            continue;
        }
        if (a[i] != b[j])
            return a[i] < b[j];
        ++i;
        ++j;
    }
    return a.size() - i != b.size() - j ? a.size() - i < b.size() - j : a < b;
}

std::int64_t Names::id_of(std::string_view text) {
    if (const auto number = parse_int(text);
        number && *number > -greatest_number && *number < greatest_number) {
        greatest_ = std::max(greatest_, *number);
        return *number;
    }
    const auto known = marks_.find(text);
    if (known != marks_.end())
        return known->second;
    const auto mark = first_mark + static_cast<std::int64_t>(marks_.size());
    marks_.emplace(text, mark);
    return mark;
}

std::map<std::int64_t, std::int64_t> Names::number_names() const {
    std::vector<std::string_view> names;
    for (const auto& [name, mark] : marks_)
        names.push_back(name);
    std::sort(names.begin(), names.end(), naturally_less);
    std::map<std::int64_t, std::int64_t> numbers;
    std::int64_t next = greatest_;
    for (const std::string_view name : names)
        numbers[marks_.find(name)->second] = ++next;
    return numbers;
}

std::map<std::int64_t, std::string> Names::by_number() const {
    const auto numbers = number_names();
    std::map<std::int64_t, std::string> names;
    for (const auto& [name, mark] : marks_)
        names[numbers.at(mark)] = shown(name);
    return names;
}

} // namespace dropledger::field
