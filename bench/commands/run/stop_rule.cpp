#include "bench/commands/run/stop_rule.hpp"

#include "bench/commands/inputs/profiles.hpp"
#include "bench/commands/shell/usage.hpp"

#include <fmt/format.h>

#include <algorithm>

namespace dropledger::cli {

using statistics::Decision;
using statistics::StopTest;

namespace {

bool is_final(Decision decision) {
    return decision == Decision::accept || decision == Decision::reject;
}

Decided decided(int channel, const char* what, const StopTest& test) {
    return {channel, what, test.decision(), test.entries(), test.hits()};
}

} // namespace

StopRule::StopRule(const verdict::StoppingRule& rule, std::uint32_t channel_mask)
    : least_(rule.least) {
    constexpr int channels = 32;
    for (int channel = 0; channel < channels; ++channel) {
        if (((channel_mask >> static_cast<unsigned>(channel)) & 1U) == 0)
            continue;
        Tests& tests = tests_[channel];
        drops_[channel] = 0;
        if (rule.miss)
            tests.miss.emplace(*rule.miss, rule.most);
        if (rule.multiples)
            tests.multiples.emplace(*rule.multiples, rule.most);
    }
}

void StopRule::settled(const recorder::Settled& drop) {
    const auto found = tests_.find(drop.channel);
    if (found == tests_.end())
        return;
    ++drops_[drop.channel];
    if (found->second.miss)
        found->second.miss->step(drop.miss);
    if (found->second.multiples)
        found->second.multiples->step(drop.over);
}

std::optional<std::string> StopRule::reason() const {
    const std::vector<Decided> all = decisions();
    if (!std::all_of(all.begin(), all.end(), [](const Decided& d) { return is_final(d.decision); }))
        return std::nullopt;
    const bool bad = std::any_of(all.begin(), all.end(),
                                 [](const Decided& d) { return d.decision == Decision::reject; });
    const bool enough = std::all_of(drops_.begin(), drops_.end(),
                                    [&](const auto& entry) { return entry.second >= least_; });
    return bad || enough ? std::optional<std::string>{"decided"} : std::nullopt;
}

std::vector<Decided> StopRule::decisions() const {
    std::vector<Decided> all;
    for (const auto& [channel, tests] : tests_) {
        if (tests.miss)
            all.push_back(decided(channel, "miss", *tests.miss));
        if (tests.multiples)
            all.push_back(decided(channel, "multiples", *tests.multiples));
    }
    return all;
}

std::vector<std::string> StopRule::remarks() const {
    std::vector<std::string> remarks;
    for (const Decided& each : decisions())
        remarks.push_back(fmt::format("decision channel {} {} {} after {} drops with {}",
                                      each.channel, each.what, verdict::name_of(each.decision),
                                      each.drops, each.hits));
    return remarks;
}

std::string in_words(const Decided& decided) {
    const std::string seen = fmt::format("{} in {} drops", decided.hits, decided.drops);
    const char* const what = decided.what == std::string_view{"miss"} ? "misses" : "multiples";
    if (decided.decision == Decision::accept || decided.decision == Decision::reject)
        return fmt::format("channel {}: {} {} ({})", decided.channel, what,
                           verdict::name_of(decided.decision), seen);
    return fmt::format("channel {}: {} not decided ({})", decided.channel, what, seen);
}

Result<verdict::StoppingRule> rule_of(const RunOptions& options) {
    const std::string mode = options.mode.value_or("single");
    if (mode == "line")
        return usage("--until-decided", "a line has no commanded drops to decide by",
                     "give the number of seeds with --drops");
    const auto profile = find_profile(options.profile.value_or(mode));
    if (!profile)
        return profile.error();
    if (ledger::name_of(profile->mode) != mode)
        return usage("--until-decided",
                     fmt::format("profile '{}' is for mode {}, this run is {}", profile->name,
                                 ledger::name_of(profile->mode), mode),
                     "name a profile of this mode with --profile");
    return verdict::stopping_rule(*profile, options.drops);
}

} // namespace dropledger::cli
