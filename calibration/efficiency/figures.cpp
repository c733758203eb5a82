#include "calibration/efficiency/figures.hpp"

#include <fmt/format.h>

#include <algorithm>

namespace dropledger::calibration {

using statistics::Estimate;

namespace {

struct WorkedOut {
    int gate;
    Confidence confidence;

    Result<Estimate> operator()(const TwoGateCount& count) const {
        const auto found = two_gates(count.seen, confidence, count.greatest_odds);
        if (!found)
            return found.error();
        const auto& efficiency = gate == 0 ? found->first_efficiency : found->second_efficiency;
        if (!efficiency)
            return usage_error("counts of two gates", "the other gate saw nothing",
                               "drop seeds through both gates");
        return *efficiency;
    }
    Result<Estimate> operator()(const HandCount& count) const {
        return efficiency_of(count, confidence);
    }
    Result<Estimate> operator()(const Weighing& weighing) const {
        return efficiency_of(weighing, confidence).transform([](const WeighingResult& found) {
            return found.efficiency;
        });
    }
};

struct Said {
    std::string operator()(const TwoGateCount& count) const {
        return fmt::format("{} seeds seen by both gates, {} by the first, {} by the second",
                           count.seen.both, count.seen.first, count.seen.second);
    }
    std::string operator()(const HandCount& count) const {
        return fmt::format("{} of {} seeds dropped by hand", count.seen, count.dropped);
    }
    std::string operator()(const Weighing& weighing) const {
        return fmt::format("{} pulses, {:g} g at {:g} g a thousand", weighing.pulses,
                           weighing.mass_g, weighing.thousand_g);
    }
};

} // namespace

Result<Estimate> efficiency_of(const Figures& figures, int gate, Confidence confidence) {
    auto found = std::visit(WorkedOut{gate, confidence}, figures);
    if (found)
        found->value = std::min(1.0, found->value);
    return found;
}

std::string words_of(const Figures& figures) {
    return std::visit(Said{}, figures);
}

} // namespace dropledger::calibration
