// Text into the language of manual pages (man(7), as groff and man-db read it).
//
// Source: groff_man_style(7), groff_char(7).
#pragma once

#include <string>
#include <string_view>

namespace dropledger::package {

// A piece of a line: every character stands for itself.
[[nodiscard]] std::string roff(std::string_view text);
// A line of running text: also where it begins with what would be a command.
[[nodiscard]] std::string roff_line(std::string_view text);
// The sections of a command's manual (NAME.manual.txt): headings in capitals at the margin; "Exit status:" and
// "Examples:" at the beginning of a line count as such. What is set out by blanks keeps its lines.
[[nodiscard]] std::string roff_sections(std::string_view manual);

} // namespace dropledger::package
