#include "analysis/report/words/stop_sentences.hpp"

#include "analysis/measures/number_words.hpp"
#include "analysis/report/words/plain.hpp"
#include "analysis/report/words/sentences.hpp"

#include <fmt/format.h>

namespace dropledger::report {

using statistics::Decision;

namespace {

bool is_dependent(const audit::CommandedDrops& drops) {
    return !drops.misses_independence.holds || !drops.multiples_independence.holds;
}

bool is_wald(const std::optional<audit::SequentialResult>& result) {
    return result && result->path.limit_plan() == nullptr;
}

std::string ending_words(const audit::AuditReport& report, const audit::SequentialResult& result) {
    const measures::SequentialPath& path = result.path;
    if (path.limit_plan() != nullptr)
        return "the interval of the share holds whenever the run ends";
    if (path.decision() == Decision::go_on)
        return "the run ended before; the interval holds whenever it ends";
    const std::int64_t later = path.entries() - path.decided_after();
    if (!result.ended_run)
        return fmt::format("the run went on for {} more drops, for other tests were open or the "
                           "least number of drops was not reached; the interval is that of all "
                           "drops and holds whenever the run ends",
                           later);
    std::string words = "this ended the run, and the interval allows for that";
    if (later > 0)
        words += fmt::format("; {} drops that fell until the halt are in the ledger and not in "
                             "this interval",
                             later);
    return report.integrity.complete() ? words : words + "; lines are missing from the log";
}

void add_sentence(std::vector<std::string>& sentences, const audit::AuditReport& report,
                  const std::optional<audit::SequentialResult>& result, std::string_view what) {
    if (result)
        sentences.push_back(
            fmt::format("{}: {}.", decision_words(*result, what), ending_words(report, *result)));
}

} // namespace

std::string decision_words(const audit::SequentialResult& result, std::string_view what) {
    const measures::SequentialPath& path = result.path;
    const std::string seen =
        fmt::format("{} in {} drops", grouped(path.hits_then()), grouped(path.decided_after()));
    switch (path.decision()) {
    case Decision::accept:
    case Decision::reject:
        return fmt::format("{} decided as {} ({})", what, verdict::name_of(path.decision()), seen);
    case Decision::undecided:
        return fmt::format("{} not decided at the maximum ({})", what, seen);
    case Decision::go_on:
        return fmt::format("{} not decided ({})", what, seen);
    }
    throw BrokenInvariant("a decision without words");
}

std::vector<std::string> stop_sentences(const audit::AuditReport& report,
                                        const audit::ChannelReport& channel) {
    std::vector<std::string> sentences;
    const audit::CommandedDrops* const drops = channel.drops();
    if (drops == nullptr || (!drops->miss_test && !drops->multiples_test))
        return sentences;
    sentences.push_back("The run could stop itself by a test of each commanded drop, tested here "
                        "again on the ledger. Rule: " +
                        verdict::rule_in_words(report.stopping_rule) + ".");
    const bool portion = channel.portions() != nullptr;
    add_sentence(sentences, report, drops->miss_test, portion ? "Empty portions" : "Misses");
    add_sentence(sentences, report, drops->multiples_test,
                 portion ? "Portions over their count" : "Multiples");
    if (!is_wald(drops->miss_test) && !is_wald(drops->multiples_test))
        return sentences;
    if (is_dependent(*drops))
        sentences.emplace_back("Misses or multiples do not come independently, so the test's risks "
                               "are larger than stated.");
    sentences.emplace_back(
        "Good and bad are levels of the test, not the limits of the profile: the "
        "verdict goes by the interval and by the profile's least number of "
        "drops.");
    return sentences;
}

namespace {

bool called_good(const std::optional<audit::SequentialResult>& test) {
    return test && test->path.decision() == Decision::accept;
}

std::string what_else(const audit::ChannelReport& channel) {
    std::string text;
    for (const verdict::Criterion& criterion : channel.judgement.criteria)
        if (criterion.outcome != verdict::Outcome::within)
            text += (text.empty() ? "" : "; ") +
                    fmt::format("{} is {} ({})", plain_name(criterion.limit.quantity),
                                verdict::name_of(criterion.outcome), criterion.reason);
    return text.empty() ? channel.judgement.reason : text;
}

} // namespace

std::vector<std::string> stop_disagreements(const audit::AuditReport& report) {
    std::vector<std::string> sentences;
    for (const audit::ChannelReport& channel : report.channels) {
        const audit::CommandedDrops* const drops = channel.drops();
        if (drops == nullptr || channel.judgement.outcome == verdict::Outcome::within ||
            !called_good(drops->miss_test) || !called_good(drops->multiples_test))
            continue;
        sentences.push_back(fmt::format(
            "The run stopped for {} since its misses and multiples are good; the audit also judges "
            "what the run does not test: {}.",
            channel_words(channel), what_else(channel)));
    }
    return sentences;
}

} // namespace dropledger::report
