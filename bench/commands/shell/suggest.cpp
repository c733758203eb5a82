#include "bench/commands/shell/suggest.hpp"

#include "analysis/base/nearest.hpp"

#include <algorithm>
#include <iterator>

namespace dropledger::cli {

namespace {

constexpr std::size_t most_suggested = 3;

// The letters of `word` in their order, the first of them first.
bool abbreviates(std::string_view word, std::string_view whole) {
    if (word.empty() || whole.empty() || word.front() != whole.front())
        return false;
    std::size_t at = 0;
    for (const char letter : whole)
        at += at < word.size() && word[at] == letter ? 1U : 0U;
    return at == word.size();
}

template <class Fits>
std::vector<std::string_view> those(const std::vector<std::string_view>& known, Fits fits) {
    std::vector<std::string_view> out;
    std::copy_if(known.begin(), known.end(), std::back_inserter(out), fits);
    return out;
}

} // namespace

std::vector<std::string_view> meant(std::string_view word,
                                    const std::vector<std::string_view>& known) {
    auto begun = those(known, [&](std::string_view one) {
        return word.size() > 2 && one.starts_with(word); // "--" begins every option
    });
    if (!begun.empty() && begun.size() <= most_suggested)
        return begun;
    if (const auto one = nearest(word, known))
        return {*one};
    auto short_for = those(known, [&](std::string_view one) { return abbreviates(word, one); });
    return short_for.size() == 1 ? short_for : std::vector<std::string_view>{};
}

std::string did_you_mean(std::string_view word, const std::vector<std::string_view>& known) {
    const auto found = meant(word, known);
    std::string text;
    for (std::size_t i = 0; i < found.size(); ++i) {
        const bool last = i + 1 == found.size();
        text += i == 0 ? "did you mean " : last ? " or " : ", ";
        text += found[i];
    }
    return text.empty() ? text : text + "?";
}

} // namespace dropledger::cli
