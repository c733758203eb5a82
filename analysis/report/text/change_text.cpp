#include "analysis/report/text/change_text.hpp"

#include "analysis/report/text/page.hpp"
#include "analysis/report/words/change_words.hpp"

#include <fmt/format.h>

namespace dropledger::report {

namespace {

constexpr std::size_t indent = 4;

void add_unit(Page& page, const audit::ComparedUnit& unit) {
    page.heading(unit_heading(unit));
    page.flow("  ", outcome_change(unit), indent);
    page.flow("  ", change_headline(unit), indent);
    for (const ChangeRow& row : change_rows(unit)) {
        page.flow("  - ", row.what, indent);
        page.flow("      before      ", row.before, 18);
        page.flow("      after       ", row.after, 18);
        if (!row.difference.empty())
            page.flow("      difference  ", row.difference, 18);
        page.flow("                  ", row.words, 18);
    }
    for (const std::string& sentence : setting_sentences(unit))
        page.flow("  ", sentence, indent);
}

} // namespace

std::string to_text(const audit::BeforeAfter& compared) {
    Page page;
    for (const std::string& run : runs_compared(compared))
        page.flow("", run, 0);
    for (const audit::ComparedUnit* const unit : differing_first(compared))
        add_unit(page, *unit);
    page.heading("How to read this");
    page.item(how_compared(compared));
    for (const std::string& caution : change_cautions(compared))
        page.item(caution);
    return std::move(page).text();
}

} // namespace dropledger::report
