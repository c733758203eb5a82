#include "analysis/report/html/change_section.hpp"

#include "analysis/report/html/document.hpp"
#include "analysis/report/html/tables.hpp"
#include "analysis/report/pictures/markup.hpp"
#include "analysis/report/words/change_words.hpp"

#include <fmt/format.h>

#include <array>

namespace dropledger::report::html {

using pictures::element;
using pictures::escaped;
using pictures::typeset;

namespace {

constexpr std::array<const char*, 5> titles{"what", "before", "after", "difference", "in words"};

std::string cell(std::size_t column, const std::string& text, bool is_strong = false) {
    return element("td", fmt::format("data-is=\"{}\"", titles.at(column)),
                   is_strong ? element("b", "", typeset(text)) : typeset(text));
}

std::string row_of(const ChangeRow& row) {
    return element("tr", "",
                   element("th", "scope=\"row\"", escaped(row.what)) + cell(1, row.before) +
                       cell(2, row.after) +
                       cell(3, row.difference.empty() ? "none" : row.difference) +
                       cell(4, row.words, row.differs)) +
           "\n";
}

std::string unit_part(const audit::ComparedUnit& unit) {
    std::string text = element("h3", "", escaped(unit_heading(unit))) + "\n" +
                       element("p", "",
                               outcome_tag(unit.before) + " before, " + outcome_tag(unit.after) +
                                   " after: " + element("b", "", typeset(change_headline(unit)))) +
                       "\n";
    std::string rows;
    for (const ChangeRow& row : change_rows(unit))
        rows += row_of(row);
    if (!rows.empty()) {
        std::string head;
        for (const char* const title : titles)
            head += element("th", "scope=\"col\"", title);
        text += element("table", "class=\"changes full\"",
                        element("thead", "", element("tr", "", head)) +
                            element("tbody", "", "\n" + rows)) +
                "\n";
    }
    std::string settings;
    for (const std::string& sentence : setting_sentences(unit))
        settings += (settings.empty() ? "" : " ") + sentence;
    return text + paragraph(settings, "cap");
}

} // namespace

std::string change_section(const audit::BeforeAfter& compared) {
    std::string text = element("h2", "id=\"before-and-after\"", "Before and after") + "\n";
    for (const std::string& run : runs_compared(compared))
        text += paragraph(run);
    for (const audit::ComparedUnit* const unit : differing_first(compared))
        text += unit_part(*unit);
    return text + paragraph(how_compared(compared), "cap") + bullet_list(change_cautions(compared));
}

std::string change_page(const audit::BeforeAfter& compared) {
    return document({.title = "Before and after: " + compared.after.file,
                     .body = paragraph("Seed-drop audit", "kind") +
                             element("h1", "", "Before and after") + "\n" +
                             change_section(compared)});
}

} // namespace dropledger::report::html
