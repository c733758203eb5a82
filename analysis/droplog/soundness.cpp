#include "analysis/droplog/soundness.hpp"

#include <fmt/format.h>
#include <fmt/ranges.h>

namespace dropledger::droplog {

std::vector<std::string> faults(const Integrity& found) {
    std::vector<std::string> all;
    for (const FoundFlaw& flaw : found.flaws())
        all.push_back(in_words(flaw));
    return all;
}

bool is_sound(const Integrity& found) {
    return found.flaws().empty();
}

std::string soundness_words(const Integrity& found) {
    const auto all = faults(found);
    if (all.empty())
        return "complete and intact";
    return fmt::format("{}: {}", found.complete() ? "complete, but not sound" : "incomplete",
                       fmt::join(all, "; "));
}

} // namespace dropledger::droplog
