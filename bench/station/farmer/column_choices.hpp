// What is said of a table's columns, in the words of the mapping file: guessed from the table,
// remembered, or chosen on the page.
//
// Assumes: a choice is named as the page's field: a column of ours ("pass"), "unit-" and a column,
// or one of those below. What a table cannot decide is never guessed: it is asked for.
// Undefined when: nothing; what contradicts itself is refused by the mapping's reader.
#pragma once

#include "bench/station/farmer/table_look.hpp"
#include "bench/station/server/request.hpp"

#include <map>
#include <string>
#include <string_view>
#include <vector>

namespace dropledger::station {

namespace choice {
inline constexpr std::string_view separator = "separator";         // ","; empty: told
inline constexpr std::string_view decimal_comma = "decimal-comma"; // "yes", "no"
inline constexpr std::string_view date_order = "date-order";       // "day", "month"
inline constexpr std::string_view time_zone = "time-zone";
inline constexpr std::string_view utc_offset = "utc-offset"; // minutes
inline constexpr std::string_view system = "system";         // "utm", "plane"
inline constexpr std::string_view utm_zone = "utm-zone";
inline constexpr std::string_view not_there = "not in this table"; // for a name that stands there
} // namespace choice

[[nodiscard]] std::string unit_of(std::string_view column); // the field's name

// Commas in numbers; never open where they cut the fields, or where the reader takes them for decimal.
enum class Comma { none, decimal, open };
[[nodiscard]] Comma comma_in(const TableLook& look);

class Choices {
public:
    // By names of columns, units in them, and what the first rows show.
    [[nodiscard]] static Choices guessed(const TableLook& look);
    // As a mapping says; nothing where it was made for other columns.
    [[nodiscard]] static std::optional<Choices> remembered(const field::Mapping& mapping,
                                                           const TableLook& look);
    [[nodiscard]] static Choices of_form(const Fields& form);

    [[nodiscard]] std::string of(std::string_view name) const; // empty: nothing is said
    [[nodiscard]] Choices with(std::string_view name, std::string value) const;
    [[nodiscard]] std::optional<char> separator() const;
    [[nodiscard]] bool has_plane_places() const; // in metres, not in degrees

    // The names of what must be said, and is not.
    [[nodiscard]] std::vector<std::string> lacking(const TableLook& look) const;
    // Whether the table leaves it open, said or not.
    [[nodiscard]] bool must_be_said(std::string_view name, const TableLook& look) const;

    // A mapping file.
    [[nodiscard]] std::string text(const TableLook& look) const;

private:
    std::map<std::string, std::string, std::less<>> said_;
};

// What those choices make of the table, named zones found.
[[nodiscard]] Result<Reading> read_as(const TableLook& look, const Choices& choices,
                                      std::size_t most = looked_at_bytes);

} // namespace dropledger::station
