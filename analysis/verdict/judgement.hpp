// Within, outside or undecided: each criterion by its whole interval, a channel by its criteria, a
// run by its channels.
//
// Within: the whole interval is inside the limit. Outside: the whole interval is beyond it.
// Undecided: it straddles, or nothing could be computed, or too few drops, or an incomplete run
// that would be within.
#pragma once

#include "analysis/base/enum_names.hpp"
#include "analysis/statistics/basics/estimate.hpp"
#include "analysis/verdict/profile.hpp"

#include <array>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace dropledger::verdict {

enum class Outcome : std::uint8_t { within, outside, undecided };

inline constexpr std::array outcome_names{EnumName{Outcome::within, "within"},
                                          EnumName{Outcome::outside, "outside"},
                                          EnumName{Outcome::undecided, "undecided"}};
static_assert(names_all<outcome_names>());

[[nodiscard]] constexpr std::string_view name_of(Outcome outcome) {
    return row_in(outcome_names, outcome).key;
}
// Outside before undecided before within; within for nothing at all only where `if_empty` says so.
[[nodiscard]] Outcome worst(const std::vector<Outcome>& outcomes, Outcome if_empty);

// The observations behind a share, so that "how many more" can be answered exactly.
struct ShareCounts {
    std::int64_t x = 0;
    std::int64_t n = 0;
    double inflation = 1.0;
};

// What is known of one criterion.
struct Finding {
    std::optional<statistics::Estimate> estimate;
    std::int64_t observations = 0;     // the estimate rests on so many
    std::optional<ShareCounts> counts; // where it is a share
    // The interval as it would be if every line that is missing from the log had spoken for the
    // unit; "outside" must hold for it too.
    std::optional<statistics::Interval> at_best;
    std::string why_undefined;
};

struct Criterion {
    Limit limit;
    std::optional<statistics::Estimate> estimate;
    Outcome outcome = Outcome::undecided;
    std::int64_t more_drops = 0; // would decide it with a chance of 90 %; 0: more drops do not help
    std::string reason;          // in words
};

struct RunState {
    std::int64_t drops = 0;
    std::string unit = "drops"; // what they are: line mode counts segments, a list spacings
    bool complete = true;
    std::string why_incomplete;
};

struct Judgement {
    Outcome outcome = Outcome::undecided;
    std::vector<Criterion> criteria;
    std::string reason; // where no criterion says it
};

// The whole interval against a limit.
[[nodiscard]] Outcome by_interval(const statistics::Interval& whole, const Limit& limit);
[[nodiscard]] Criterion judge(const Limit& limit, const Finding& finding, const Profile& profile,
                              const RunState& run);
[[nodiscard]] Judgement judgement(std::vector<Criterion> criteria, const RunState& run);

} // namespace dropledger::verdict
