#include "calibration/gauge/gauge.hpp"

#include <fmt/format.h>

#include <random>

namespace dropledger::calibration {

Result<std::vector<PlannedReading>> plan_gauge(const GaugePlan& plan) {
    constexpr std::int64_t most = 10'000;
    const auto bad = [](std::int64_t count) { return count < 2 || count > most; };
    if (bad(plan.units) || bad(plan.operators) || bad(plan.repeats) ||
        plan.units * plan.operators > most || plan.units * plan.operators * plan.repeats > most)
        return usage_error("gauge plan",
                           fmt::format("{} units, {} operators, {} repeats", plan.units,
                                       plan.operators, plan.repeats),
                           fmt::format("at least 2 of each, {} readings at most", most));
    std::vector<PlannedReading> out;
    for (std::int64_t trial = 1; trial <= plan.repeats; ++trial)
        for (std::int64_t op = 1; op <= plan.operators; ++op)
            for (std::int64_t unit = 1; unit <= plan.units; ++unit)
                out.push_back({unit, op, trial});
    std::mt19937_64 random(plan.seed);
    // own shuffle: the standard library's differs between platforms
    for (std::size_t left = out.size(); left > 1; --left) {
        const std::uint64_t limit = (random.max() / left) * left;
        std::uint64_t drawn = random();
        while (drawn >= limit)
            drawn = random();
        std::swap(out[left - 1], out[drawn % left]);
    }
    return out;
}

} // namespace dropledger::calibration
