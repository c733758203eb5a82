#include "analysis/verdict/stopping_tests.hpp"

#include <fmt/format.h>

#include <algorithm>

namespace dropledger::verdict {

using statistics::Decision;
using statistics::StopTest;

namespace {

StopDecision decision_of(int channel, StopCriterion criterion, const StopTest& test) {
    return {channel, criterion, test.decision(), test.entries(), test.hits()};
}

} // namespace

bool StopDecision::is_final() const {
    return decision == Decision::accept || decision == Decision::reject;
}

StoppingTests::StoppingTests(const StoppingRule& rule, std::uint32_t channel_mask)
    : least_(rule.least) {
    constexpr int mask_bits = 32;
    for (int channel = 0; channel < mask_bits; ++channel) {
        if (((channel_mask >> static_cast<unsigned>(channel)) & 1U) == 0)
            continue;
        Channel& tests = channels_[channel];
        if (rule.miss)
            tests.miss.emplace(*rule.miss, rule.most);
        if (rule.multiples)
            tests.multiples.emplace(*rule.multiples, rule.most);
    }
}

void StoppingTests::add(int channel, bool miss, bool over) {
    const auto found = channels_.find(channel);
    if (found == channels_.end())
        return;
    Channel& tests = found->second;
    ++tests.drops;
    if (tests.miss)
        tests.miss->step(miss);
    if (tests.multiples)
        tests.multiples->step(over);
}

bool StoppingTests::decided() const {
    const std::vector<StopDecision> all = decisions();
    if (!std::all_of(all.begin(), all.end(),
                     [](const StopDecision& one) { return one.is_final(); }))
        return false;
    const bool bad = std::any_of(all.begin(), all.end(), [](const StopDecision& one) {
        return one.decision == Decision::reject;
    });
    const bool enough = std::all_of(channels_.begin(), channels_.end(), [this](const auto& entry) {
        return entry.second.drops >= least_;
    });
    return bad || enough;
}

std::vector<StopDecision> StoppingTests::decisions() const {
    std::vector<StopDecision> all;
    for (const auto& [number, tests] : channels_) {
        if (tests.miss)
            all.push_back(decision_of(number, StopCriterion::miss, *tests.miss));
        if (tests.multiples)
            all.push_back(decision_of(number, StopCriterion::multiples, *tests.multiples));
    }
    return all;
}

std::vector<std::string> remarks_of(const std::vector<StopDecision>& decisions) {
    std::vector<std::string> remarks;
    remarks.reserve(decisions.size());
    for (const StopDecision& each : decisions)
        remarks.push_back(fmt::format("decision channel {} {} {} after {} drops with {}",
                                      each.channel, name_of(each.criterion), name_of(each.decision),
                                      each.drops, each.hits));
    return remarks;
}

} // namespace dropledger::verdict
