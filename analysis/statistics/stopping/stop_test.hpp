// The test by which a run stops itself: by a limit, or Wald's, which older logs state.
#pragma once

#include "analysis/statistics/stopping/monitored_share.hpp"
#include "analysis/statistics/stopping/sequential.hpp"

#include <cstdint>
#include <variant>

namespace dropledger::statistics {

using StopPlan = std::variant<LimitPlan, SequentialPlan>;

class StopTest {
public:
    // `maximum`: drops, decided or not.
    StopTest(const StopPlan& plan, std::int64_t maximum)
        : test_(std::holds_alternative<LimitPlan>(plan)
                    ? Test{LimitTest{std::get<LimitPlan>(plan)}}
                    : Test{SequentialTest{std::get<SequentialPlan>(plan), maximum}}) {}

    Decision step(bool hit) {
        return std::visit([&](auto& test) { return test.step(hit); }, test_);
    }
    [[nodiscard]] Decision decision() const {
        return std::visit([](const auto& test) { return test.decision(); }, test_);
    }
    // Up to the decision.
    [[nodiscard]] std::int64_t entries() const {
        const auto* const limit = std::get_if<LimitTest>(&test_);
        return limit ? limit->counts().entries : std::get<SequentialTest>(test_).entries();
    }
    [[nodiscard]] std::int64_t hits() const {
        const auto* const limit = std::get_if<LimitTest>(&test_);
        return limit ? limit->counts().hits : std::get<SequentialTest>(test_).hits();
    }

private:
    using Test = std::variant<LimitTest, SequentialTest>;
    Test test_;
};

} // namespace dropledger::statistics
