// `run --until-decided`: the sequential tests of a live run, one pair a channel, fed drop by drop.
//
// Assumes: drops are told in the order of the commands, each once, when no seed can be added any
// more. Attribution is that of the live tally (bench/recorder/protocol/tally.hpp); the audit replays the
// test on its own ledger.
#pragma once

#include "analysis/verdict/stopping_rule.hpp"
#include "bench/commands/run/run_options.hpp"
#include "bench/recorder/protocol/tally.hpp"

#include <cstdint>
#include <functional>
#include <map>
#include <optional>
#include <string>
#include <vector>

namespace dropledger::cli {

struct Decided {
    int channel = 0;
    const char* what = ""; // miss, multiples
    statistics::Decision decision = statistics::Decision::go_on;
    std::int64_t drops = 0;
    std::int64_t hits = 0;
};

class StopRule {
public:
    StopRule(const verdict::StoppingRule& rule, std::uint32_t channel_mask);

    void settled(const recorder::Settled& drop);
    // `decided` once every channel has its decisions, and enough drops where all are good.
    [[nodiscard]] std::optional<std::string> reason() const;
    [[nodiscard]] std::vector<Decided> decisions() const;
    // The decisions as remarks for the log.
    [[nodiscard]] std::vector<std::string> remarks() const;

private:
    struct Tests {
        std::optional<statistics::StopTest> miss;
        std::optional<statistics::StopTest> multiples;
    };
    std::map<int, Tests> tests_;
    std::map<int, std::int64_t> drops_; // settled
    std::int64_t least_;
};

[[nodiscard]] std::string in_words(const Decided& decided);

// The rule that these options ask for; refused where the profile states none.
[[nodiscard]] Result<verdict::StoppingRule> rule_of(const RunOptions& options);

} // namespace dropledger::cli
