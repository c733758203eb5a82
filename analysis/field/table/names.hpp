// Rows and passes by number or by name ("A1", "F1-3"): names become numbers, in their natural order.
//
// Assumes: a whole number is its own number. Names are numbered once all are known (`number_names`):
// 1, 2, … behind the greatest number that stands as such. Undefined when: nothing.
#pragma once

#include <cstdint>
#include <map>
#include <string>
#include <string_view>

namespace dropledger::field {

class Names {
public:
    // A number, or a mark that stands for the name until `number_names`.
    [[nodiscard]] std::int64_t id_of(std::string_view text);

    [[nodiscard]] bool any() const { return !marks_.empty(); }
    // From each mark to its number.
    [[nodiscard]] std::map<std::int64_t, std::int64_t> number_names() const;
    // From the number to the name; empty before any name came.
    [[nodiscard]] std::map<std::int64_t, std::string> by_number() const;

private:
    std::map<std::string, std::int64_t, std::less<>> marks_;
    std::int64_t greatest_ = 0;
};

// But for upper and lower case, of ASCII.
[[nodiscard]] bool same_name(std::string_view a, std::string_view b);
// "A2" before "A10": runs of digits count as numbers.
[[nodiscard]] bool naturally_less(std::string_view a, std::string_view b);

} // namespace dropledger::field
