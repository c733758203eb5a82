// One commanded drop of a field, and whose it is.
//
// Units: in the names; a place is longitude and latitude in degrees (WGS 84), or east and north in
// metres.
#pragma once

#include <compare>
#include <cstdint>

namespace dropledger::field {

struct Place {
    double x = 0.0; // longitude or east
    double y = 0.0; // latitude or north
};

struct FieldDrop {
    std::int64_t drop = 0;
    double time_s = 0.0; // since 1970; 0 where there is no time
    Place at;
    std::uint32_t target = 1;
    std::uint32_t seen = 0;
    std::uint32_t line = 0; // of the table
    float offset_mm = 0.0F; // landing - commanded, where has_offset
    bool has_offset = false;
    bool alert = false;
    bool has_place = true; // only while a table is read: what lacks one gets its neighbours' middle

    [[nodiscard]] bool silent() const { return seen == 0 && target > 0; }
};

struct LineKey {
    std::int64_t pass = 0;
    std::int64_t row = 0;
    friend auto operator<=>(const LineKey&, const LineKey&) =
        default; // NOLINT: clang-tidy 14 takes it for a null pointer
};

} // namespace dropledger::field
