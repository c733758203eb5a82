#include "bench/package/roff.hpp"

#include <algorithm>
#include <optional>
#include <utility>
#include <vector>

namespace dropledger::package {

namespace {

// What groff would take for a command or draw as another sign.
constexpr std::pair<char, std::string_view> special[] = {
    {'\\', "\\e"}, {'-', "\\-"}, {'\'', "\\(aq"}, {'`', "\\(ga"}, {'^', "\\(ha"}, {'~', "\\(ti"}};

using Lines = std::vector<std::string_view>;

Lines lines_of(std::string_view text) {
    Lines lines;
    while (!text.empty()) {
        const std::size_t end = std::min(text.find('\n'), text.size());
        lines.push_back(text.substr(0, end));
        text.remove_prefix(std::min(end + 1, text.size()));
    }
    return lines;
}

bool is_heading(std::string_view line) {
    return line.size() > 1 && line.front() >= 'A' && line.front() <= 'Z' &&
           std::all_of(line.begin(), line.end(),
                       [](char c) { return c == ' ' || (c >= 'A' && c <= 'Z'); });
}

struct Label {
    std::string_view words;
    std::string_view heading;
};
constexpr Label labels[] = {{"Exit status: ", "EXIT STATUS"},
                            {"Examples:", "EXAMPLES"},
                            {"Example: ", "EXAMPLES"},
                            {"--json: ", "OUTPUT"}};

std::optional<Label> label_of(std::string_view line) {
    for (const Label& one : labels)
        if (line.starts_with(one.words))
            return one;
    return std::nullopt;
}

struct Section {
    std::string_view heading;
    Lines lines;
};

std::vector<Section> sections_of(std::string_view manual) {
    std::vector<Section> sections{{"DESCRIPTION", {}}};
    for (const std::string_view line : lines_of(manual)) {
        if (is_heading(line)) {
            sections.push_back({line, {}});
        } else if (const auto label = label_of(line)) {
            const bool is_told = label->heading == "OUTPUT"; // the option is part of the sentence
            sections.push_back({label->heading, {}});
            sections.back().lines.push_back(is_told ? line : line.substr(label->words.size()));
        } else {
            sections.back().lines.push_back(line);
        }
    }
    return sections;
}

std::string_view without_margin(std::string_view line) {
    return line.starts_with("  ") ? line.substr(2) : line;
}

// Set out by blanks: a table, a file's text, commands.
bool is_set_out(const Lines& paragraph) {
    return std::any_of(paragraph.begin(), paragraph.end(), [](std::string_view line) {
        return line.starts_with(' ') || line.find("   ") != std::string_view::npos;
    });
}

std::string paragraph_of(const Lines& lines, bool keeps_lines) {
    std::string text = keeps_lines ? ".PP\n.nf\n" : ".PP\n";
    for (const std::string_view line : lines)
        text += roff_line(line) + "\n";
    return keeps_lines ? text + ".fi\n" : text;
}

std::string body_of(const Section& section) {
    std::string text;
    Lines paragraph;
    const auto end = [&] {
        if (!paragraph.empty())
            text += paragraph_of(paragraph, section.heading == "EXAMPLES" || is_set_out(paragraph));
        paragraph.clear();
    };
    for (const std::string_view line : section.lines)
        if (line.find_first_not_of(' ') == std::string_view::npos)
            end();
        else
            paragraph.push_back(without_margin(line));
    end();
    return text;
}

} // namespace

std::string roff(std::string_view text) {
    std::string out;
    for (const char c : text) {
        const auto* const found = std::find_if(std::begin(special), std::end(special),
                                               [c](const auto& one) { return one.first == c; });
        if (found == std::end(special))
            out += c;
        else
            out += found->second;
    }
    return out;
}

std::string roff_line(std::string_view text) {
    return (text.starts_with('.') ? "\\&" : "") + roff(text);
}

std::string roff_sections(std::string_view manual) {
    std::string text;
    for (const Section& section : sections_of(manual))
        if (const std::string body = body_of(section); !body.empty())
            text += ".SH " + std::string(section.heading) + "\n" + body;
    return text;
}

} // namespace dropledger::package
