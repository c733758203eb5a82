#include "bench/evidence/known_profile.hpp"

#include "calibration_profiles.hpp"

#include <fmt/format.h>

namespace dropledger::evidence {

namespace {

const char* words_of(verdict::Sense sense) {
    switch (sense) {
    case verdict::Sense::at_most:
        return "at most";
    case verdict::Sense::at_least:
        return "at least";
    case verdict::Sense::magnitude_at_most:
        return "in magnitude at most";
    }
    throw BrokenInvariant("a sense of a limit without words");
}

} // namespace

std::optional<std::string_view> known_profile(std::string_view name) {
    for (const profiles::Text& text : profiles::texts())
        if (text.name == name)
            return text.content;
    return std::nullopt;
}

std::vector<std::string> limits_in_words(const verdict::Profile& profile) {
    std::vector<std::string> words;
    for (const verdict::Limit& limit : profile.limits)
        words.push_back(fmt::format("{} {} {}", limit.name, words_of(limit.sense), limit.value));
    return words;
}

std::optional<double> miss_limit(const verdict::Profile& profile) {
    for (const verdict::Limit& limit : profile.limits)
        if (limit.name == "miss_index" || limit.name == "empty_share")
            return limit.value;
    return std::nullopt;
}

} // namespace dropledger::evidence
