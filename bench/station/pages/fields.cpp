#include "bench/station/pages/fields.hpp"

#include "analysis/report/pictures/markup.hpp"

#include <fmt/format.h>

#include <algorithm>

namespace dropledger::station {

using report::pictures::element;
using report::pictures::escaped;

namespace {

std::string help_of(std::string_view help) {
    return help.empty() ? std::string{} : element("small", "", escaped(help));
}

std::string choices(const ChoiceField& field, const char* kind) {
    std::string items;
    for (const Option& option : field.options) {
        const bool on =
            std::string_view(kind) == "checkbox" ? option.ticked : option.value == field.value;
        items += element("label", "class=\"choice\"",
                         fmt::format("<input type=\"{}\" name=\"{}\" value=\"{}\"{} />", kind,
                                     field.name, escaped(option.value),
                                     on ? " checked=\"checked\"" : "") +
                             element("span", "", escaped(option.words)));
    }
    return element("fieldset", "",
                   element("legend", "", escaped(field.label)) + help_of(field.help) +
                       element("div", "class=\"choices\"", items)) +
           "\n";
}

// "--blank-means none" as the page's field is called: "blank means none". Whole commands stay.
std::string as_field(std::string text) {
    if (text.find("dropledger ") != std::string::npos)
        return text;
    for (std::size_t at = text.find("--"); at != std::string::npos; at = text.find("--", at)) {
        text.erase(at, 2);
        for (; at < text.size() && (text[at] == '-' || (text[at] >= 'a' && text[at] <= 'z')); ++at)
            if (text[at] == '-')
                text[at] = ' ';
    }
    return text;
}

} // namespace

std::string text_field(const TextField& field) {
    const std::string name = escaped(field.name); // may come from a table
    return element("div", "class=\"field\"",
                   element("label", fmt::format("for=\"{}\"", name), escaped(field.label)) +
                       fmt::format("<input type=\"text\" id=\"{0}\" name=\"{0}\" value=\"{1}\" "
                                   "autocomplete=\"off\" autocapitalize=\"off\"{2} />",
                                   name, escaped(field.value),
                                   field.needed ? " required=\"required\"" : "") +
                       help_of(field.help)) +
           "\n";
}

// A browser sends each line's end as two characters, and shows them as one.
std::string text_area(const TextField& field) {
    std::string lines = field.value;
    std::erase(lines, '\r');
    return element("div", "class=\"field\"",
                   element("label", fmt::format("for=\"{}\"", field.name), escaped(field.label)) +
                       element("textarea",
                               fmt::format("id=\"{0}\" name=\"{0}\" rows=\"4\" "
                                           "autocomplete=\"off\" autocapitalize=\"off\" "
                                           "spellcheck=\"false\"",
                                           field.name),
                               "\n" + escaped(lines)) +
                       help_of(field.help)) +
           "\n";
}

std::string select_field(const ChoiceField& field) {
    std::string options;
    for (const Option& option : field.options)
        options += element("option",
                           fmt::format("value=\"{}\"{}", escaped(option.value),
                                       option.value == field.value ? " selected=\"selected\"" : ""),
                           escaped(option.words));
    return element("div", "class=\"field\"",
                   element("label", fmt::format("for=\"{}\"", field.name), escaped(field.label)) +
                       element("select",
                               fmt::format("id=\"{0}\" name=\"{0}\"{1}", field.name,
                                           field.needed ? " required=\"required\"" : ""),
                               options) +
                       help_of(field.help)) +
           "\n";
}

std::string radio_field(const ChoiceField& field) {
    return choices(field, "radio");
}

std::string tick_field(const ChoiceField& field) {
    return choices(field, "checkbox");
}

std::string hidden_field(std::string_view name, std::string_view value) {
    return fmt::format("<input type=\"hidden\" name=\"{}\" value=\"{}\" />", escaped(name),
                       escaped(value));
}

std::string form(const Form& form) {
    return element(
               "form",
               fmt::format("class=\"fill\" method=\"post\" action=\"{}\"", escaped(form.action)),
               "\n" + form.fields +
                   element("div", "class=\"acts\"",
                           element("button",
                                   form.is_go ? "type=\"submit\" class=\"go\"" : "type=\"submit\"",
                                   escaped(form.button)))) +
           "\n";
}

std::string act(const std::string& action, const std::string& button, const std::string& hidden) {
    return element("form", fmt::format("method=\"post\" action=\"{}\"", escaped(action)),
                   hidden + element("button", "type=\"submit\"", escaped(button)));
}

std::vector<std::string> typed_list(std::string_view text, std::string_view separators) {
    std::vector<std::string> parts;
    for (std::size_t at = text.find_first_not_of(separators); at < text.size();) {
        const std::size_t end = std::min(text.find_first_of(separators, at), text.size());
        parts.emplace_back(text.substr(at, end - at));
        at = text.find_first_not_of(separators, end);
    }
    return parts;
}

std::string link(const std::string& href, std::string_view words) {
    return element("a", fmt::format("href=\"{}\"", escaped(href)), escaped(words));
}

std::string button_link(const std::string& href, std::string_view words) {
    return element("a", fmt::format("class=\"button\" href=\"{}\"", escaped(href)), escaped(words));
}

std::string heading1(std::string_view text) {
    return element("h1", "", escaped(text)) + "\n";
}

std::string heading2(std::string_view text) {
    return element("h2", "", escaped(text)) + "\n";
}

std::string text_line(std::string_view text, std::string_view style) {
    return element("p", style.empty() ? std::string{} : fmt::format("class=\"{}\"", style),
                   escaped(text)) +
           "\n";
}

std::string words_of(const Error& error) {
    Error told = error;
    constexpr std::string_view option = "option ";
    if (told.where.starts_with(option))
        told.where.erase(0, option.size());
    return as_field(told.message());
}

std::string said_wrong(const Error& error) {
    return element("div", "class=\"said-wrong\" role=\"alert\"", text_line(words_of(error))) + "\n";
}

} // namespace dropledger::station
