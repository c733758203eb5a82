#include "analysis/statistics/basics/estimate.hpp"

#include "analysis/base/result.hpp"

namespace dropledger::statistics {

std::string_view words(NoInterval why) {
    switch (why) {
    case NoInterval::few_values:
        return "no interval: too few values";
    case NoInterval::all_equal:
        return "no interval: all values are equal";
    case NoInterval::chosen_by_data:
        return "no interval: the band was chosen by the same spacings that it counts";
    case NoInterval::hangs_together:
        return "no interval: neighbouring values depend on each other too much for this length";
    case NoInterval::tails_unknown:
        return "no interval: too few values to know how heavy the tails are";
    case NoInterval::too_few_ranks:
        return "no interval: too few values lie beyond the quantile";
    case NoInterval::not_identified:
        return "no interval: the data fit several values equally well";
    }
    throw BrokenInvariant("a missing interval without words");
}

} // namespace dropledger::statistics
