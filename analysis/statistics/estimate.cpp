#include "analysis/statistics/estimate.hpp"

#include "analysis/base/result.hpp"

namespace dropledger::statistics {

std::string_view words_of(NoInterval reason) {
    switch (reason) {
    case NoInterval::too_few_values:
        return "too few values";
    case NoInterval::all_equal:
        return "all values are equal";
    case NoInterval::chosen_by_data:
        return "the band was chosen by the same spacings that it counts";
    }
    throw BrokenInvariant("a missing interval without words");
}

} // namespace dropledger::statistics
