// A stopping rule at work: the tests of a run that goes on, one a channel and criterion, fed drop by
// drop.
//
// Assumes: drops are told in the order of the commands, each once, when no seed can be added any
// more. Drops of channels that take no part are passed over.
#pragma once

#include "analysis/base/enum_names.hpp"
#include "analysis/verdict/stopping_rule.hpp"

#include <array>
#include <cstdint>
#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace dropledger::verdict {

enum class StopCriterion : std::uint8_t { miss, multiples };

inline constexpr std::array stop_criterion_names{EnumName{StopCriterion::miss, "miss"},
                                                 EnumName{StopCriterion::multiples, "multiples"}};
static_assert(names_all<stop_criterion_names>());

[[nodiscard]] constexpr std::string_view name_of(StopCriterion criterion) {
    return row_in(stop_criterion_names, criterion).key;
}

struct StopDecision {
    int channel = 0;
    StopCriterion criterion = StopCriterion::miss;
    statistics::Decision decision = statistics::Decision::go_on;
    std::int64_t drops = 0;
    std::int64_t hits = 0;

    [[nodiscard]] bool is_final() const; // good or bad
};

class StoppingTests {
public:
    // Bit N of the mask: channel N takes part.
    StoppingTests(const StoppingRule& rule, std::uint32_t channel_mask);

    void add(int channel, bool miss, bool over);
    // Every channel has its decisions, and enough drops where all are good.
    [[nodiscard]] bool decided() const;
    [[nodiscard]] std::vector<StopDecision> decisions() const;

private:
    struct Channel {
        std::optional<statistics::StopTest> miss;
        std::optional<statistics::StopTest> multiples;
        std::int64_t drops = 0;
    };
    std::map<int, Channel> channels_;
    std::int64_t least_;
};

// As remarks for the log: "decision channel 0 miss good after 300 drops with 2".
[[nodiscard]] std::vector<std::string> remarks_of(const std::vector<StopDecision>& decisions);

} // namespace dropledger::verdict
