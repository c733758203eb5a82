#include "analysis/report/words/series_sentences.hpp"

#include "analysis/measures/number_words.hpp"

#include <fmt/format.h>

#include <algorithm>

namespace dropledger::report {

namespace {

constexpr std::size_t enough_to_test = 4; // a line through three runs leaves one degree of freedom
constexpr double least_mm = 3.0;          // below that offsets are alike

// "10.0, 21.3 and 72.1 mm": in the order of the runs; empty where they lie close together.
std::string differing_offsets(const audit::UnitSeries& series) {
    std::vector<double> offsets_mm;
    for (const audit::SeriesRun& one : series.runs)
        if (one.run.offset)
            offsets_mm.push_back(one.run.offset->mm);
    if (offsets_mm.size() < 2)
        return "";
    const auto [least, most] = std::minmax_element(offsets_mm.begin(), offsets_mm.end());
    if (*most - *least < least_mm)
        return "";
    std::string text;
    for (std::size_t i = 0; i < offsets_mm.size(); ++i)
        text += (i == 0                      ? ""
                 : i + 1 < offsets_mm.size() ? ", "
                                             : " and ") +
                number(offsets_mm[i], Unit::millimetres, 1);
    return text + " mm";
}

// Of what no cause was found for.
std::string untested_words(const audit::UnitSeries& series) {
    const std::string offsets = differing_offsets(series);
    if (series.runs.size() < enough_to_test)
        return fmt::format(
            "{} runs are too few to test whether misses, multiples and the offset change with "
            "speed{}: make more runs at these speeds.",
            series.runs.size(), offsets.empty() ? "" : " (the offset was " + offsets + ")");
    if (series.causes.empty() && !offsets.empty())
        return fmt::format("Over {} runs neither misses nor multiples are shown to change with "
                           "speed; the offset differs from run to run ({}) without a clear trend.",
                           series.runs.size(), offsets);
    return series.causes.empty()
               ? fmt::format("Neither misses, nor multiples, nor the offset are shown "
                             "to change with speed over {} runs.",
                             series.runs.size())
               : "";
}

} // namespace

std::vector<std::string> series_sentences(const audit::UnitSeries& series) {
    std::vector<std::string> sentences;
    for (const causes::Cause& cause : series.causes)
        sentences.push_back(fmt::format("Speed dependence (p {}): {}. Look at: {}.",
                                        p_words(cause.p_value), cause.evidence, cause.look_at));
    const bool all_explained = !series.causes.empty() && series.runs.size() < enough_to_test;
    if (std::string more = untested_words(series); !more.empty() && !all_explained)
        sentences.push_back(std::move(more));
    return sentences;
}

} // namespace dropledger::report
