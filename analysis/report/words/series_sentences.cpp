#include "analysis/report/words/series_sentences.hpp"

#include "analysis/measures/number_words.hpp"

#include <fmt/format.h>

namespace dropledger::report {

std::vector<std::string> series_sentences(const audit::UnitSeries& series) {
    std::vector<std::string> sentences;
    for (const causes::Cause& cause : series.causes)
        sentences.push_back(fmt::format("Speed dependence (p {}): {}. Look at: {}.",
                                        p_words(cause.p_value), cause.evidence, cause.look_at));
    if (sentences.empty())
        sentences.push_back(fmt::format("Neither misses, nor multiples, nor the offset are shown "
                                        "to change with speed over {} runs.",
                                        series.runs.size()));
    return sentences;
}

} // namespace dropledger::report
