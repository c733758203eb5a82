#include "analysis/base/readers/canonical_json.hpp"

#include "analysis/base/utf8.hpp"

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>
#include <cstdint>
#include <optional>
#include <string_view>
#include <utility>
#include <vector>

namespace dropledger {

namespace {

constexpr int deepest = 100;

Error problem(std::string what) {
    return input_error("canonical JSON", std::move(what), "");
}

std::optional<std::u16string> utf16(std::string_view text) {
    std::u16string units;
    while (!text.empty()) {
        const auto found = first_character(text);
        if (!found)
            return std::nullopt;
        const auto [point, length] = *found;
        if (point >= 0x10000U) {
            units += static_cast<char16_t>(0xD800U + ((point - 0x10000U) >> 10U));
            units += static_cast<char16_t>(0xDC00U + ((point - 0x10000U) & 0x3FFU));
        } else {
            units += static_cast<char16_t>(point);
        }
        text.remove_prefix(length);
    }
    return units;
}

std::string escaped(char c) {
    switch (c) {
    case '"':
        return "\\\"";
    case '\\':
        return "\\\\";
    case '\b':
        return "\\b";
    case '\t':
        return "\\t";
    case '\n':
        return "\\n";
    case '\f':
        return "\\f";
    case '\r':
        return "\\r";
    default:
        break;
    }
    const auto byte = static_cast<unsigned char>(c);
    return byte < 0x20U ? fmt::format("\\u{:04x}", byte) : std::string(1, c);
}

class CanonicalWriter {
public:
    [[nodiscard]] Status write(const nlohmann::json& json, int depth);
    [[nodiscard]] std::string take() { return std::move(out_); }

private:
    [[nodiscard]] Status write_text(const std::string& text);
    [[nodiscard]] Status write_whole(const nlohmann::json& json);
    [[nodiscard]] Status write_double(double value);
    [[nodiscard]] Status write_array(const nlohmann::json& json, int depth);
    [[nodiscard]] Status write_object(const nlohmann::json& json, int depth);

    std::string out_;
};

Status CanonicalWriter::write(const nlohmann::json& json, int depth) {
    using Type = nlohmann::json::value_t;
    if (depth > deepest)
        return problem("members are nested too deep");
    switch (json.type()) {
    case Type::null:
        out_ += "null";
        return Done{};
    case Type::boolean:
        out_ += json.get<bool>() ? "true" : "false";
        return Done{};
    case Type::string:
        return write_text(json.get_ref<const std::string&>());
    case Type::number_integer:
    case Type::number_unsigned:
        return write_whole(json);
    case Type::number_float:
        return write_double(json.get<double>());
    case Type::array:
        return write_array(json, depth);
    case Type::object:
        return write_object(json, depth);
    case Type::binary:
    case Type::discarded:
        break;
    }
    return problem("a value that JSON does not have");
}

Status CanonicalWriter::write_text(const std::string& text) {
    if (!is_utf8(text))
        return problem("a text that is not UTF-8");
    out_ += '"';
    for (const char c : text)
        out_ += escaped(c);
    out_ += '"';
    return Done{};
}

// Held exactly by a double, or refused: a reader elsewhere would see another number.
Status CanonicalWriter::write_whole(const nlohmann::json& json) {
    const std::string form = canonical_number(json.get<double>());
    if (form != json.dump())
        return problem(fmt::format("{} cannot be held exactly", json.dump()));
    out_ += form;
    return Done{};
}

Status CanonicalWriter::write_double(double value) {
    if (!std::isfinite(value))
        return problem("a number that is not finite");
    out_ += canonical_number(value);
    return Done{};
}

Status CanonicalWriter::write_array(const nlohmann::json& json, int depth) {
    out_ += '[';
    bool first = true;
    for (const nlohmann::json& item : json) {
        out_ += std::exchange(first, false) ? "" : ",";
        if (const Status written = write(item, depth + 1); !written)
            return written;
    }
    out_ += ']';
    return Done{};
}

Status CanonicalWriter::write_object(const nlohmann::json& json, int depth) {
    std::vector<std::pair<std::u16string, std::string>> names;
    for (const auto& [name, value] : json.items()) {
        auto units = utf16(name);
        if (!units)
            return problem("a member's name that is not UTF-8");
        names.emplace_back(*std::move(units), name);
    }
    std::sort(names.begin(), names.end());
    out_ += '{';
    bool first = true;
    for (const auto& [units, name] : names) {
        out_ += std::exchange(first, false) ? "" : ",";
        if (const Status written = write_text(name); !written)
            return written;
        out_ += ':';
        if (const Status written = write(json.at(name), depth + 1); !written)
            return written;
    }
    out_ += '}';
    return Done{};
}

} // namespace

std::string canonical_number(double value) {
    if (value == 0.0)
        return "0"; // −0 too
    std::array<char, 40> room{};
    const auto done = std::to_chars(room.data(), room.data() + room.size(), std::abs(value),
                                    std::chars_format::scientific);
    const std::string_view text{room.data(), static_cast<std::size_t>(done.ptr - room.data())};
    const std::size_t e = text.find('e');
    std::string digits{text.substr(0, e)};
    digits.erase(std::remove(digits.begin(), digits.end(), '.'), digits.end());
    int exponent = 0; // of d.ddd
    const std::string_view after = text.substr(text[e + 1] == '+' ? e + 2 : e + 1);
    std::from_chars(after.data(), after.data() + after.size(), exponent);
    const int point = exponent + 1; // decimal point stands after so many digits
    const int size = static_cast<int>(digits.size());
    const std::string sign = value < 0.0 ? "-" : "";
    if (point > 21 || point < -5) {
        if (size > 1)
            digits.insert(1, ".");
        return fmt::format("{}{}e{}{}", sign, digits, exponent < 0 ? '-' : '+', std::abs(exponent));
    }
    if (point <= 0)
        return fmt::format("{}0.{}{}", sign, std::string(static_cast<std::size_t>(-point), '0'),
                           digits);
    if (point >= size)
        digits.append(static_cast<std::size_t>(point - size), '0');
    else
        digits.insert(static_cast<std::size_t>(point), ".");
    return sign + digits;
}

Result<std::string> canonical(const nlohmann::json& json) {
    CanonicalWriter writer;
    if (const Status written = writer.write(json, 0); !written)
        return written.error();
    return writer.take();
}

} // namespace dropledger
