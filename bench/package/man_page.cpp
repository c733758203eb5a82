#include "bench/package/man_page.hpp"

#include "bench/package/roff.hpp"

#include <fmt/format.h>

#include <algorithm>

namespace dropledger::package {

namespace {

// Where an installed program's files lie; CMakeLists.txt puts them there.
constexpr std::string_view files_section = R"(.SH FILES
.TP
.I /usr/share/dropledger/profiles
tolerance profiles, with the reason beside each limit; they are in the program too. Copy one, change it, and name the copy
with \-\-profile
.TP
.I /usr/share/dropledger/crops
what is known of each crop's seed, with its source
.TP
.I /usr/share/dropledger/scenarios
invented units for dropledger\-simulate(1)
.TP
.I /usr/share/dropledger/firmware
firmware of a bench's controller, and the script that writes it into the board
.TP
.I /usr/share/doc/dropledger/README.Debian
how to be let to the serial port, and how to give a bench a name of its own under /dev
)";

std::string page_name(const cli::CommandPage& page) {
    std::string name = page.name;
    std::replace(name.begin(), name.end(), ' ', '-');
    return name;
}

std::string upper(std::string text) {
    for (char& c : text)
        if (c >= 'a' && c <= 'z')
            c = static_cast<char>(c - 'a' + 'A');
    return text;
}

std::string synopsis(const cli::CommandPage& page) {
    std::string text = ".SH SYNOPSIS\n.B " + roff(page.name) + "\n[\\fIOPTIONS\\fR]";
    for (const cli::ArgumentLine& one : page.positionals) {
        const std::string name = "\\fI" + roff(one.name) + "\\fR" + (one.several ? "..." : "");
        text += one.required ? " " + name : " [" + name + "]";
    }
    if (!page.below.empty())
        text += page.manual.find("DESCRIPTION") == std::string::npos ? " \\fICOMMAND\\fR"
                                                                     : " [\\fICOMMAND\\fR]";
    return text + "\n";
}

// "-h,--help" is printed as "-h, --help".
std::string names_of(const cli::ArgumentLine& line) {
    std::string names = line.name;
    if (const std::size_t comma = names.find(','); comma != std::string::npos)
        names.insert(comma + 1, " ");
    return names;
}

std::string value_of(const cli::ArgumentLine& line) {
    if (!line.takes_value())
        return {};
    return " \\fI" + roff(line.value) + "\\fR" + (line.several ? " ..." : "");
}

std::string lines_of(std::string_view heading, const std::vector<cli::ArgumentLine>& lines) {
    if (lines.empty())
        return {};
    std::string text = fmt::format(".SH {}\n", heading);
    for (const cli::ArgumentLine& one : lines)
        text += fmt::format(".TP\n\\fB{}\\fR{}\n{}{}\n", roff(names_of(one)), value_of(one),
                            roff_line(one.help), one.required ? " (must be given)" : "");
    return text;
}

std::string command_section(const cli::CommandPage& page) {
    if (page.below.empty())
        return {};
    std::string text = ".SH COMMANDS\n";
    for (const cli::CommandPage& one : page.below)
        text += fmt::format(".TP\n.BR {} (1)\n{}\n", roff(page_name(one)), roff_line(one.summary));
    return text;
}

std::string see_also(const cli::CommandPage* parent) {
    if (parent == nullptr)
        return {};
    return fmt::format(".SH SEE ALSO\n.BR {} (1)\n", roff(page_name(*parent)));
}

std::string text_of(const cli::CommandPage& page, const cli::CommandPage* parent,
                    const Edition& edition) {
    return fmt::format(".TH {} 1 {} \"dropledger {}\" \"Dropledger\"\n",
                       roff(upper(page_name(page))), roff(edition.date), edition.version) +
           fmt::format(".SH NAME\n{} \\- {}\n", roff(page_name(page)), roff(page.summary)) +
           synopsis(page) + lines_of("ARGUMENTS", page.positionals) +
           lines_of("OPTIONS", page.options) + command_section(page) + roff_sections(page.manual) +
           std::string(parent == nullptr ? files_section : "") + see_also(parent);
}

void add(std::vector<ManPage>& pages, const cli::CommandPage& page, const cli::CommandPage* parent,
         const Edition& edition) {
    pages.push_back({page_name(page) + ".1", text_of(page, parent, edition)});
    for (const cli::CommandPage& one : page.below)
        add(pages, one, &page, edition);
}

} // namespace

std::vector<ManPage> man_pages(const cli::CommandPage& program, const Edition& edition) {
    std::vector<ManPage> pages;
    add(pages, program, nullptr, edition);
    return pages;
}

} // namespace dropledger::package
