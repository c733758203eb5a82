// A request as its handler gets it, and the answer.
//
// Assumes: names and values are decoded; they are a stranger's text all the same.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace dropledger::station {

enum class Method : std::uint8_t { get, post, put };

[[nodiscard]] std::string_view name_of(Method method);

// The fields of a query or of a form, in order; a name may come several times.
class Fields {
public:
    // `text`: a=1&b=two+words, as a form sends it. Fields that cannot be decoded are left out.
    [[nodiscard]] static Fields parse(std::string_view text);

    void add(std::string name, std::string value);
    [[nodiscard]] std::optional<std::string> value(std::string_view name) const; // the first
    [[nodiscard]] std::vector<std::string> values(std::string_view name) const;
    // The first, without blanks around it; nothing where that is empty.
    [[nodiscard]] std::optional<std::string> filled(std::string_view name) const;

    struct Field {
        std::string name;
        std::string value;
    };
    [[nodiscard]] const std::vector<Field>& all() const { return fields_; }

private:
    std::vector<Field> fields_;
};

struct Request {
    Method method = Method::get;
    std::string path;               // as it was asked for, without the query
    std::vector<std::string> parts; // what the stars of the route stand for, decoded
    Fields query;
    Fields form;
    std::string body; // of what is no form
};

struct Response {
    unsigned status = 200;
    std::string type = "text/html; charset=utf-8";
    std::string body;
    std::string location = {}; // of a 303
    std::string save_as = {};  // a name to save it under, where it is not to be shown
    std::string allow = {};    // of a 405
    std::string cookie = {};   // whole Set-Cookie value
};

[[nodiscard]] Response see(std::string location); // 303

// %41 and, in forms, + for a blank. Nothing where a % is followed by no two hex digits, or where a
// NUL would come out.
[[nodiscard]] std::optional<std::string> decoded(std::string_view text, bool form);
// For a path's part or a query's value.
[[nodiscard]] std::string encoded(std::string_view text);

} // namespace dropledger::station
