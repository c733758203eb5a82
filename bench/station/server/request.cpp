#include "bench/station/server/request.hpp"

#include "analysis/base/result.hpp"
#include "analysis/base/text.hpp"

#include <fmt/format.h>

#include <algorithm>

namespace dropledger::station {

namespace {

std::optional<unsigned> hex_digit(char c) {
    if (c >= '0' && c <= '9')
        return static_cast<unsigned>(c - '0');
    if (c >= 'a' && c <= 'f')
        return static_cast<unsigned>(c - 'a') + 10U;
    if (c >= 'A' && c <= 'F')
        return static_cast<unsigned>(c - 'A') + 10U;
    return std::nullopt;
}

// The byte that two hexadecimal digits at the beginning stand for.
std::optional<char> byte_of(std::string_view text) {
    const auto high = text.empty() ? std::nullopt : hex_digit(text[0]);
    const auto low = text.size() < 2 ? std::nullopt : hex_digit(text[1]);
    if (!high || !low)
        return std::nullopt;
    return static_cast<char>(*high * 16U + *low);
}

} // namespace

std::string_view name_of(Method method) {
    switch (method) {
    case Method::get:
        return "GET";
    case Method::post:
        return "POST";
    case Method::put:
        return "PUT";
    }
    throw BrokenInvariant("a method without a name");
}

std::optional<std::string> decoded(std::string_view text, bool form) {
    std::string out;
    for (std::size_t i = 0; i < text.size(); ++i) {
        if (text[i] != '%') {
            out += form && text[i] == '+' ? ' ' : text[i];
            continue;
        }
        const auto byte = byte_of(text.substr(i + 1));
        if (!byte)
            return std::nullopt;
        out += *byte;
        i += 2;
    }
    return out.find('\0') == std::string::npos ? std::optional{out} : std::nullopt;
}

std::string encoded(std::string_view text) {
    constexpr std::string_view plain = "-._~";
    std::string out;
    for (const char c : text) {
        const bool letter = (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') ||
                            (c >= '0' && c <= '9') || plain.find(c) != std::string_view::npos;
        out += letter
                   ? std::string(1, c)
                   : fmt::format("%{:02X}", static_cast<unsigned>(static_cast<unsigned char>(c)));
    }
    return out;
}

Fields Fields::parse(std::string_view text) {
    Fields fields;
    for (const std::string_view part : split(text, '&')) {
        const std::size_t equals = part.find('=');
        auto name = decoded(part.substr(0, equals), true);
        auto value = equals == std::string_view::npos ? std::optional<std::string>{""}
                                                      : decoded(part.substr(equals + 1), true);
        if (name && value && !name->empty())
            fields.add(*std::move(name), *std::move(value));
    }
    return fields;
}

void Fields::add(std::string name, std::string value) {
    fields_.push_back({std::move(name), std::move(value)});
}

std::optional<std::string> Fields::value(std::string_view name) const {
    const auto found = std::find_if(fields_.begin(), fields_.end(),
                                    [name](const Field& field) { return field.name == name; });
    return found == fields_.end() ? std::nullopt : std::optional{found->value};
}

std::vector<std::string> Fields::values(std::string_view name) const {
    std::vector<std::string> found;
    for (const Field& field : fields_)
        if (field.name == name)
            found.push_back(field.value);
    return found;
}

std::optional<std::string> Fields::filled(std::string_view name) const {
    const auto found = value(name);
    const std::string text(found ? trim(*found) : std::string_view{});
    return text.empty() ? std::nullopt : std::optional{text};
}

Response see(std::string location) {
    return {.status = 303,
            .type = "text/plain; charset=utf-8",
            .body = "",
            .location = std::move(location)};
}

} // namespace dropledger::station
