// Notation: η = efficiency, q(j) = share of drops that showed j seeds, w(j) = weight of q(j) in a
// class.
#include "analysis/measures/corrections/portion_correction.hpp"

#include "analysis/statistics/basics/distributions.hpp"
#include "analysis/statistics/shares/proportion.hpp"

#include <algorithm>
#include <cmath>
#include <numeric>

namespace dropledger::measures {

using statistics::Estimate;
using statistics::Interval;

namespace {

// Counts of seeds from `low` to `high`, and where a share of it would go that was never seen.
struct Class {
    std::size_t low = 0;
    std::size_t high = 0;
    std::size_t typical = 0;
    std::size_t otherwise = 0;

    [[nodiscard]] bool holds(std::size_t seeds) const { return seeds >= low && seeds <= high; }
};

// w(j): the probability of the class that "j were seen" stands for once the thinning is undone.
double weight(const Class& of, std::size_t j, double efficiency) {
    const double overlooked = 1.0 - efficiency;
    double sum = 0.0;
    for (std::size_t k = of.low; k <= std::min(of.high, j); ++k) {
        const double size =
            statistics::log_choose(static_cast<std::int64_t>(j), static_cast<std::int64_t>(k)) -
            static_cast<double>(j) * std::log(efficiency);
        const std::size_t more = j - k;
        if (more > 0 && overlooked <= 0.0)
            continue;
        const double term =
            std::exp(size + (more > 0 ? static_cast<double>(more) * std::log(overlooked) : 0.0));
        sum += more % 2 == 0 ? term : -term;
    }
    return sum;
}

class Thinned {
public:
    Thinned(const ObservedPortions& observed, const Estimate& efficiency, Confidence confidence)
        : efficiency_(std::min(1.0, efficiency.value)),
          limits_(efficiency_limits(efficiency, confidence)), confidence_(confidence),
          drops_(std::accumulate(observed.distribution.begin(), observed.distribution.end(),
                                 std::int64_t{0})) {
        for (const std::int64_t count : observed.distribution)
            shares_.push_back(static_cast<double>(count) / static_cast<double>(drops_));
        shares_.resize(std::max(shares_.size(), observed.target + 2), 0.0);
    }

    [[nodiscard]] std::size_t most() const { return shares_.size() - 1; }

    // Alternating terms that nearly cancel: no digits are left beyond this.
    [[nodiscard]] bool has_digits() const {
        constexpr double most_weight = 1e9;
        std::size_t seen = most();
        while (seen > 0 && shares_[seen] == 0.0)
            --seen;
        const double worst = std::pow((2.0 - limits_.low) / limits_.low, static_cast<double>(seen));
        return std::isfinite(worst) && worst < most_weight;
    }

    [[nodiscard]] Corrected of(const Class& which, double inflation,
                               const std::optional<Interval>& stopped) const {
        const double value = sum(which, shares_, efficiency_);
        const double reach = statistics::normal_quantile(1.0 - confidence_.each_tail()) *
                             std::sqrt(std::max(1.0, inflation) * variance(which, value) /
                                       static_cast<double>(drops_));
        const double seen = share(which);
        Interval own = statistics::clopper_pearson_inflated(
            std::llround(seen * static_cast<double>(drops_)), drops_, inflation, confidence_);
        if (stopped)
            own = {std::min(own.low, stopped->low), std::max(own.high, stopped->high)};
        Corrected out = in_quadrature(
            {.value = value,
             .counted = {value - reach, value + reach,
                         sum(which, moved(which, seen, own.low), efficiency_),
                         sum(which, moved(which, seen, own.high), efficiency_)},
             .gate = {sum(which, shares_, limits_.low), sum(which, shares_, limits_.high)}},
            {0.0, 1.0}, confidence_);
        out.estimate.method = "thinning undone; multinomial counts and the efficiency's interval "
                              "in quadrature (JCGM 100)";
        return out;
    }

private:
    [[nodiscard]] double share(const Class& which) const {
        double total = 0.0;
        for (std::size_t j = which.low; j <= std::min(which.high, most()); ++j)
            total += shares_[j];
        return total;
    }

    static double sum(const Class& which, const std::vector<double>& shares, double efficiency) {
        double total = 0.0;
        for (std::size_t j = 0; j < shares.size(); ++j)
            if (shares[j] > 0.0)
                total += weight(which, j, efficiency) * shares[j];
        return total;
    }

    [[nodiscard]] double variance(const Class& which, double value) const {
        double squares = 0.0;
        for (std::size_t j = 0; j < shares_.size(); ++j)
            if (shares_[j] > 0.0)
                squares += std::pow(weight(which, j, efficiency_), 2) * shares_[j];
        return std::max(0.0, squares - value * value);
    }

    // The class's share moved to `to`, inside and outside of it everything in its ratio.
    [[nodiscard]] std::vector<double> moved(const Class& which, double from, double to) const {
        std::vector<double> out(shares_.size(), 0.0);
        for (std::size_t j = 0; j < shares_.size(); ++j)
            if (which.holds(j) ? from > 0.0 : from < 1.0)
                out[j] = shares_[j] * (which.holds(j) ? to / from : (1.0 - to) / (1.0 - from));
        if (!(from > 0.0))
            out[which.typical] += to;
        if (!(from < 1.0))
            out[which.otherwise] += 1.0 - to;
        return out;
    }

    double efficiency_;
    Interval limits_;
    Confidence confidence_;
    std::int64_t drops_;
    std::vector<double> shares_;
};

bool usable(const Estimate& efficiency) {
    return efficiency.value > 0.0 && efficiency.interval.has_value();
}

} // namespace

std::optional<CorrectedPortions> corrected_portions(const ObservedPortions& observed,
                                                    const Estimate& efficiency,
                                                    Confidence confidence) {
    const auto some = [](std::int64_t count) { return count > 0; };
    if (!usable(efficiency) || observed.target == 0 ||
        std::none_of(observed.distribution.begin(), observed.distribution.end(), some))
        return std::nullopt;
    const Thinned thinned(observed, efficiency, confidence);
    if (!thinned.has_digits())
        return std::nullopt;
    const std::size_t n = observed.target;
    CorrectedPortions out;
    out.empty = thinned.of({0, 0, 0, n}, observed.empty_inflation, observed.empty_no_narrower);
    out.exact = thinned.of({n, n, n, n - 1}, observed.exact_inflation, {});
    out.over = thinned.of({n + 1, thinned.most(), n + 1, n}, observed.over_inflation,
                          observed.over_no_narrower);
    if (n > 1)
        out.shorted = thinned.of({1, n - 1, n - 1, n}, observed.exact_inflation, {});
    else
        out.shorted.estimate = {.value = 0.0,
                                .interval = Interval{},
                                .confidence = confidence,
                                .method = "none can be short"};
    return out;
}

std::optional<Corrected> scaled_up(const Estimate& observed, const Estimate& efficiency,
                                   Confidence confidence) {
    if (!usable(efficiency) || !observed.interval)
        return std::nullopt;
    const double value = std::min(1.0, efficiency.value);
    const Interval limits = efficiency_limits(efficiency, confidence);
    Corrected out =
        in_quadrature({.value = observed.value / value,
                       .counted = {observed.interval->low / value, observed.interval->high / value},
                       .gate = {observed.value / limits.low, observed.value / limits.high}},
                      {0.0, 1e12}, confidence);
    out.estimate.method = "over the efficiency; both intervals in quadrature (JCGM 100)";
    return out;
}

} // namespace dropledger::measures
