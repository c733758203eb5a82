// The rule by which a live run may stop itself, and how a log states it: one remark a criterion,
//
//   sequential miss limit L confidence C first F every E events K most N least N
//
// before the first controller line. The share is looked at every E drops from F on, by the interval
// that holds whenever the run ends (statistics/monitored_share.hpp): good once it lies inside the
// limit, bad once it lies beyond it with K events. Older logs state Wald's test,
// `sequential miss GOOD BAD ALPHA BETA most N least N`, and are read as they are.
//
// A run ends once every channel has a decision on each criterion. Where all are good it goes on to
// the profile's least number of drops, for below that nothing can be called within.
//
// Undefined when: line mode (no commanded drops), or a profile without levels: refused.
#pragma once

#include "analysis/base/result.hpp"
#include "analysis/statistics/stopping/stop_test.hpp"
#include "analysis/verdict/profile.hpp"

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace dropledger::verdict {

struct StoppingRule {
    std::optional<statistics::StopPlan> miss;      // single: no seed; portion: empty
    std::optional<statistics::StopPlan> multiples; // single: several seeds; portion: over
    std::int64_t most = 0;                         // drops per channel, decided or not
    std::int64_t least = 0;                        // drops per channel, before all is good

    [[nodiscard]] bool tests_anything() const { return miss || multiples; }
};

// `drops`, where given, is a further maximum.
[[nodiscard]] Result<StoppingRule> stopping_rule(const Profile& profile,
                                                 std::optional<std::int64_t> drops);

// The rule as a log's remarks state it, and back. Other remarks are none of its business.
[[nodiscard]] std::vector<std::string> remarks_of(const StoppingRule& rule);
struct StatedRule {
    StoppingRule rule;
    std::vector<std::string> unreadable; // remarks that begin like a rule and are none
};
[[nodiscard]] StatedRule stated_rule(const std::vector<std::string>& remarks);

// In words: "misses: at most 5 %, …".
[[nodiscard]] std::string rule_in_words(const StoppingRule& rule);

// good, bad, open (the run ended first) or undecided (at the maximum).
[[nodiscard]] std::string_view name_of(statistics::Decision decision);

} // namespace dropledger::verdict
