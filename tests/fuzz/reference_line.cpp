// One line: its check, its fields, and whether they are what its name wants.
#include "tests/fuzz/reference.hpp"

#include "analysis/base/text.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <map>

namespace reference {

namespace {

using dropledger::parse_int;
using dropledger::parse_uint;
using Fields = std::vector<std::string>;

constexpr std::uint64_t u8 = 0xff;
constexpr std::uint64_t u16 = 0xffff;
constexpr std::uint64_t u32 = 0xffffffff;
constexpr std::int64_t greatest_position_um = 900'000'000'000'000'000;

bool printable(std::string_view text) {
    return std::all_of(text.begin(), text.end(), [](char c) { return c >= ' ' && c <= '~'; });
}

bool is_uint(const std::string& text, std::uint64_t greatest) {
    const auto value = parse_uint(text);
    return text.size() <= 18 && value && *value <= greatest;
}

bool is_int(std::string text, std::int64_t greatest) {
    const auto value = parse_int(text);
    text.erase(0, text.starts_with('-') ? 1 : 0);
    return text.size() <= 18 && value && *value >= -greatest && *value <= greatest;
}

// What stands in each field after SEQ and TICK: b, h, w unsigned of 8, 16, 32 bits; p a position; c
// a channel or -1; t text that is not empty; upper case: may be missing.
const std::map<std::string, std::string> controller_shapes{
    {"hello", "wtwt"}, {"travel", "p"}, {"drop", "bwpw"}, {"pulse", "bhwh"}, {"beat", "ww"},
    {"fault", "ct"},   {"armed", ""},   {"started", ""},  {"halted", "T"},   {"refused", "t"}};

// The same for host lines: a is anything, n a time.
const std::map<std::string, std::string> host_shapes{
    {"@droplog", "aaa"}, {"@set", "aa"},    {"@channel", "baa"}, {"@sent", "a"},
    {"@at", "wn"},       {"@note", "a"},    {"@damaged", "a"},   {"@resumed", "n"},
    {"@seal", "aa"},     {"@close", "aaa"}, {"@confirmed", "n"}, {"@ending", "a"}};

bool fits(const std::string& field, char shape) {
    switch (shape) {
    case 'b':
        return is_uint(field, u8);
    case 'h':
        return is_uint(field, u16);
    case 'w':
        return is_uint(field, u32);
    case 'p':
        return is_int(field, greatest_position_um);
    case 'n':
        return is_int(field, 999'999'999'999'999'999);
    case 'c':
        return is_int(field, static_cast<std::int64_t>(u8)) && *parse_int(field) >= -1;
    case 't':
    case 'T':
        return !field.empty();
    default:
        return true;
    }
}

bool fit(const Fields& fields, std::size_t from, const std::string& shapes) {
    for (std::size_t i = 0; i < shapes.size(); ++i) {
        const bool missing = from + i >= fields.size();
        if (missing && shapes[i] != 'T')
            return false;
        if (!missing && !fits(fields[from + i], shapes[i]))
            return false;
    }
    return true;
}

void take_host(Line& line) {
    const auto shape = host_shapes.find(line.name);
    line.known = shape != host_shapes.end();
    const bool other_version = line.name == "@droplog" && line.fields.size() > 1 &&
                               !line.fields[1].empty() && line.fields[1] != "1";
    line.damaged = line.known && !other_version && !fit(line.fields, 1, shape->second);
    line.extra = line.known && line.fields.size() > shape->second.size() + 1;
}

void take_controller(Line& line) {
    const auto shape = controller_shapes.find(line.name);
    line.known = shape != controller_shapes.end();
    line.counts_in_seq =
        line.fields.size() > 2 && is_uint(line.fields[1], u32) && is_uint(line.fields[2], u32);
    line.damaged = line.known && (!line.counts_in_seq || !fit(line.fields, 3, shape->second));
    line.extra = line.known && line.fields.size() > shape->second.size() + 3;
    if (line.counts_in_seq) {
        line.seq = static_cast<std::uint32_t>(*parse_uint(line.fields[1]));
        line.tick_us = static_cast<std::uint32_t>(*parse_uint(line.fields[2]));
    }
}

} // namespace

std::uint16_t crc16(std::string_view bytes) {
    unsigned crc = 0xFFFF;
    for (const char c : bytes) {
        crc ^= static_cast<unsigned>(static_cast<unsigned char>(c)) << 8U;
        for (int bit = 0; bit < 8; ++bit)
            crc = (crc & 0x8000U) != 0U ? ((crc << 1U) ^ 0x1021U) & 0xffffU : (crc << 1U) & 0xffffU;
    }
    return static_cast<std::uint16_t>(crc);
}

Line line(std::string_view text) {
    Line line;
    if (text.ends_with('\r'))
        text.remove_suffix(1);
    if (text.size() <= 5 || text.size() > 239)
        return line;
    line.body = text.substr(0, text.size() - 5);
    if (text.substr(line.body.size()) != fmt::format("*{:04X}", crc16(line.body)))
        return line;
    for (const std::string_view field : dropledger::split(line.body, ','))
        line.fields.emplace_back(field);
    line.name = line.fields.front();
    if (!printable(line.body) || line.name.empty())
        return line;
    if (line.name.front() == '@')
        take_host(line);
    else
        take_controller(line);
    if (!line.known)
        line.damaged = false;
    return line;
}

} // namespace reference
