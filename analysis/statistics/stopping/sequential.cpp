// Notation: p1, p2 good and bad level; d hits; n entries (Wald 1947; NIST e-Handbook 6.2.6).
#include "analysis/statistics/stopping/sequential.hpp"

#include <cmath>

namespace dropledger::statistics {

std::optional<std::int64_t> SequentialPlan::acceptance_number(std::int64_t n) const {
    const double line = slope * static_cast<double>(n) - h_accept;
    return line < 0.0 ? std::nullopt : std::optional{static_cast<std::int64_t>(std::floor(line))};
}

std::optional<std::int64_t> SequentialPlan::rejection_number(std::int64_t n) const {
    const auto number =
        static_cast<std::int64_t>(std::ceil(slope * static_cast<double>(n) + h_reject));
    return number > n ? std::nullopt : std::optional{number};
}

Result<SequentialPlan> sequential_plan(TwoPoint points) {
    const auto sound = checked(points);
    if (!sound)
        return sound.error();
    const double p1 = points.good;
    const double p2 = points.bad;
    const double k = std::log(p2 * (1.0 - p1) / (p1 * (1.0 - p2)));
    return SequentialPlan{.points = points,
                          .k = k,
                          .h_accept = std::log((1.0 - points.alpha) / points.beta) / k,
                          .h_reject = std::log((1.0 - points.beta) / points.alpha) / k,
                          .slope = std::log((1.0 - p1) / (1.0 - p2)) / k};
}

SequentialTest::SequentialTest(const SequentialPlan& plan, std::int64_t maximum)
    : plan_(plan), maximum_(maximum) {
    if (maximum < 1)
        throw BrokenInvariant("sequential test: the maximum is below one entry");
}

Decision SequentialTest::step(bool hit) {
    if (decision_ != Decision::go_on)
        return decision_;
    ++entries_;
    hits_ += hit ? 1 : 0;
    const auto accepting = plan_.acceptance_number(entries_);
    const auto rejecting = plan_.rejection_number(entries_);
    if (accepting && hits_ <= *accepting)
        decision_ = Decision::accept;
    else if (rejecting && hits_ >= *rejecting)
        decision_ = Decision::reject;
    else if (entries_ == maximum_)
        decision_ = Decision::undecided;
    return decision_;
}

} // namespace dropledger::statistics
