#include "analysis/report/text/verdict_table.hpp"

#include "analysis/report/text/page.hpp"
#include "analysis/report/words/plain.hpp"
#include "analysis/report/words/sentences.hpp"
#include "analysis/report/words/stop_sentences.hpp"

#include <fmt/format.h>

namespace dropledger::report {

namespace {

constexpr std::size_t words_from = 13;

std::string shown_outcome(verdict::Outcome outcome) {
    std::string word(verdict::name_of(outcome));
    if (outcome == verdict::Outcome::outside)
        for (char& c : word)
            c = static_cast<char>(c - 'a' + 'A');
    return word;
}

void add_unit(Page& page, const audit::AuditReport& report, const audit::ChannelReport& channel) {
    const std::string found = deciding_words(channel);
    const audit::Counted n = channel.counted();
    page.flow(fmt::format("  {:<10} ", shown_outcome(channel.judgement.outcome)),
              fmt::format("{}: {}{}{} {}", channel_words(channel), found, found.empty() ? "" : ", ",
                          n.count, n.what),
              words_from);
    const Advice what = advice(report, channel);
    if (!what.cause.empty())
        page.flow("", "cause: " + what.cause, words_from);
    if (!what.next.empty())
        page.flow("", "next: " + what.next, words_from);
}

} // namespace

void add_verdict_table(Page& page, const audit::AuditReport& report) {
    page.heading(report.channels.size() > 1 ? "Units, worst first" : "The unit");
    for (const audit::ChannelReport* const channel : worst_first(report))
        add_unit(page, report, *channel);
    for (const std::string& sentence : stop_disagreements(report))
        page.flow("  ", sentence, 2);
}

std::string verdict_table(const audit::AuditReport& report) {
    Page page;
    add_verdict_table(page, report);
    return std::move(page).text();
}

} // namespace dropledger::report
