// Parts of forms: each with its words, so that nothing needs a manual.
//
// Assumes: names and texts are plain; what comes back is markup.
#pragma once

#include "analysis/base/result.hpp"

#include <string>
#include <string_view>
#include <vector>

namespace dropledger::station {

struct TextField {
    std::string_view name;
    std::string_view label;
    std::string_view help = {};
    std::string value = {};
    bool needed = false;
};
[[nodiscard]] std::string text_field(const TextField& field);
// Of several lines.
[[nodiscard]] std::string text_area(const TextField& field);

struct Option {
    std::string value;
    std::string words;
    bool ticked = true; // of a tick field
};
struct ChoiceField {
    std::string_view name;
    std::string_view label;
    std::string_view help = {};
    std::string value = {};
    std::vector<Option> options;
    bool needed = false; // of a select: one that says something
};
[[nodiscard]] std::string select_field(const ChoiceField& field);
[[nodiscard]] std::string radio_field(const ChoiceField& field);
// Several may be ticked.
[[nodiscard]] std::string tick_field(const ChoiceField& field);

// A form of ours: what is in it, and the button that sends it.
struct Form {
    std::string action;
    std::string fields;
    std::string button;
    bool is_go = true; // the page's first act
};
[[nodiscard]] std::string form(const Form& form);
[[nodiscard]] std::string hidden_field(std::string_view name, std::string_view value);
// A form that is a button and nothing else.
[[nodiscard]] std::string act(const std::string& action, const std::string& button,
                              const std::string& hidden = {});

// What was typed into one field and stands apart by any of `separators`.
[[nodiscard]] std::vector<std::string> typed_list(std::string_view text,
                                                  std::string_view separators);

[[nodiscard]] std::string link(const std::string& href, std::string_view words);
[[nodiscard]] std::string button_link(const std::string& href, std::string_view words);
[[nodiscard]] std::string heading1(std::string_view text);
[[nodiscard]] std::string heading2(std::string_view text);
[[nodiscard]] std::string text_line(std::string_view text, std::string_view style = {});
// What is wrong, for a person at a page: an option's name becomes the field's.
[[nodiscard]] std::string said_wrong(const Error& error);
[[nodiscard]] std::string words_of(const Error& error);

} // namespace dropledger::station
