#include "analysis/statistics/basics/estimate.hpp"

#include "analysis/base/enum_names.hpp"

#include <array>

namespace dropledger::statistics {

namespace {

struct Reason {
    NoInterval value;
    std::string_view key;
    std::string_view words;
};

// clang-format off
constexpr std::array reasons{
    Reason{NoInterval::few_values, "few_values", "no interval: too few values"},
    Reason{NoInterval::all_equal, "all_equal", "no interval: all values are equal"},
    Reason{NoInterval::chosen_by_data, "chosen_by_data",
           "no interval: the band was chosen by the same spacings that it counts"},
    Reason{NoInterval::hangs_together, "hangs_together",
           "no interval: neighbouring values depend on each other too much for this length"},
    Reason{NoInterval::tails_unknown, "tails_unknown",
           "no interval: too few values to know how heavy the tails are"},
    Reason{NoInterval::too_few_ranks, "too_few_ranks",
           "no interval: too few values lie beyond the quantile"},
    Reason{NoInterval::not_identified, "not_identified",
           "no interval: the data fit several values equally well"},
    Reason{NoInterval::speed_unknown, "speed_unknown",
           "no interval: without a speed nobody knows how far the fall's uncertainty reaches"},
    Reason{NoInterval::fall_unknown, "fall_unknown",
           "no interval: nobody says how long seeds fall from the gate to the ground"},
    Reason{NoInterval::no_pair, "no_pair",
           "no interval: no seed was seen by both gates, so any number may have fallen"},
};
// clang-format on
static_assert(names_all<reasons>());

} // namespace

std::string_view words(NoInterval why) {
    return row_in(reasons, why).words;
}

std::string_view key_of(NoInterval why) {
    return row_in(reasons, why).key;
}

} // namespace dropledger::statistics
