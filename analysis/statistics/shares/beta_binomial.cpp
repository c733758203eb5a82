// Notation: mu = alpha/(alpha+beta), theta = 1/(alpha+beta); x hits and n entries of a unit.
// ln L = constant + sum_j hits_j ln(mu + j theta) + others_j ln(1 - mu + j theta) - entries_j ln(1
// + j theta): no difference of large logarithms of gamma functions, and theta = 0 is an ordinary
// point.
#include "analysis/statistics/shares/beta_binomial.hpp"

#include "analysis/statistics/basics/distributions.hpp"

#include <algorithm>
#include <cmath>
#include <cstddef>

namespace dropledger::statistics {

namespace {

// More than j of a kind, counted over units, for j = 0, 1, …: it falls at each unit's own count.
std::vector<UnitsBeyond> exceeding(std::span<const Group> units, std::int64_t (*count)(Group)) {
    std::vector<std::int64_t> sizes;
    sizes.reserve(units.size());
    for (const Group unit : units)
        sizes.push_back(count(unit));
    std::sort(sizes.begin(), sizes.end());
    std::vector<UnitsBeyond> out;
    std::int64_t from = 0;
    for (std::size_t i = 0; i < sizes.size(); ++i) {
        if (sizes[i] > from)
            out.push_back({{from, sizes[i]}, static_cast<double>(sizes.size() - i)});
        from = sizes[i];
    }
    return out;
}

using Sum = double (*)(Progression, Stretch);

double weighed(Sum sum, Progression u, const std::vector<UnitsBeyond>& all) {
    double total = 0.0;
    for (const UnitsBeyond& part : all)
        total += part.units * sum(u, part.over);
    return total;
}

// Where the decreasing `falling` crosses 0 between the two.
template <class Function> double root(const Function& falling, double low, double high) {
    for (int halving = 0; halving < 200; ++halving) {
        const double middle = low + (high - low) / 2.0;
        if (middle <= low || middle >= high)
            break;
        (falling(middle) > 0.0 ? low : high) = middle;
    }
    return low + (high - low) / 2.0;
}

bool fits(std::span<const Group> units) {
    std::int64_t x = 0;
    std::int64_t n = 0;
    for (const Group unit : units) {
        x += unit.x;
        n += unit.n;
    }
    return units.size() >= 2 && x > 0 && x < n;
}

double share_above(double limit, double mu, double theta) {
    if (theta <= 0.0)
        return mu > limit ? 1.0 : 0.0;
    return beta_sf(limit, {.a = mu / theta, .b = (1.0 - mu) / theta});
}

// The largest theta worth looking at: nearly every unit all hits or none.
constexpr double largest_theta = 1e4;
constexpr double smallest_theta = 1e-9;

// Ends of the mu that keep the log-likelihood at or above `bar` at this theta; nothing where none
// does.
std::optional<Interval> mu_range(const BetaBinomialLikelihood& likelihood, double theta,
                                 double bar) {
    const double best = likelihood.best_mu(theta);
    if (likelihood.value(best, theta) < bar)
        return std::nullopt;
    const auto below_bar = [&](double mu) { return bar - likelihood.value(mu, theta); };
    const auto above_bar = [&](double mu) { return likelihood.value(mu, theta) - bar; };
    return Interval{.low = root(below_bar, 0.0, best), .high = root(above_bar, best, 1.0)};
}

constexpr double smallest_centre = 1e-5;

// The largest value over every theta within six decades of the centre: of steps of a fortieth of a
// decade the best, then the true maximum between its neighbours by golden sections.
// Assumes: one maximum between two neighbours of the best step.
template <class Function> double largest_over_theta(double centre, const Function& value) {
    constexpr int steps = 240;
    const auto at = [&](double step) { return value(centre * std::pow(10.0, step / 40.0)); };
    double best = at(-steps);
    double best_step = -steps;
    for (int step = 1 - steps; step <= steps; ++step)
        if (const double here = at(step); here > best) {
            best = here;
            best_step = step;
        }
    constexpr double golden = 0.6180339887498949;
    double low = best_step - 1.0;
    double high = best_step + 1.0;
    while (high - low > 1e-6) {
        const double left = high - golden * (high - low);
        const double right = low + golden * (high - low);
        const double at_left = at(left);
        const double at_right = at(right);
        best = std::max({best, at_left, at_right});
        (at_left > at_right ? high : low) = at_left > at_right ? right : left;
    }
    return best;
}

} // namespace

std::optional<Tarone> tarone_test(std::span<const Group> units) {
    if (!fits(units))
        return std::nullopt;
    double x = 0.0;
    double n = 0.0;
    double pairs = 0.0;
    for (const Group unit : units) {
        const double size = static_cast<double>(unit.n);
        x += static_cast<double>(unit.x);
        n += size;
        pairs += size * (size - 1.0);
    }
    if (pairs <= 0.0)
        return std::nullopt;
    const double p = x / n;
    double spread = 0.0;
    for (const Group unit : units) {
        const double apart = static_cast<double>(unit.x) - static_cast<double>(unit.n) * p;
        spread += apart * apart / (p * (1.0 - p));
    }
    const double z = (spread - n) / std::sqrt(2.0 * pairs);
    return Tarone{.z = z, .p = normal_sf(z)};
}

BetaBinomialLikelihood::BetaBinomialLikelihood(std::span<const Group> units)
    : hits_(exceeding(units, [](Group unit) { return unit.x; })),
      others_(exceeding(units, [](Group unit) { return unit.n - unit.x; })),
      entries_(exceeding(units, [](Group unit) { return unit.n; })) {
    for (const Group unit : units)
        constant_ += log_choose(unit.n, unit.x);
}

double BetaBinomialLikelihood::value(double mu, double theta) const {
    return constant_ + weighed(sum_of_logs, {mu, theta}, hits_) +
           weighed(sum_of_logs, {1.0 - mu, theta}, others_) -
           weighed(sum_of_logs, {1.0, theta}, entries_);
}

double BetaBinomialLikelihood::slope_in_mu(double mu, double theta) const {
    return weighed(sum_of_inverses, {mu, theta}, hits_) -
           weighed(sum_of_inverses, {1.0 - mu, theta}, others_);
}

double BetaBinomialLikelihood::slope_in_theta(double mu, double theta) const {
    return weighed(sum_of_ratios, {mu, theta}, hits_) +
           weighed(sum_of_ratios, {1.0 - mu, theta}, others_) -
           weighed(sum_of_ratios, {1.0, theta}, entries_);
}

double BetaBinomialLikelihood::best_mu(double theta) const {
    return root([&](double mu) { return slope_in_mu(mu, theta); }, 0.0, 1.0);
}

std::optional<BetaBinomialFit> fit_beta_binomial(std::span<const Group> units) {
    if (!fits(units))
        return std::nullopt;
    const BetaBinomialLikelihood likelihood{units};
    // Slope along the ridge of best mu; it falls through 0 at the maximum.
    const auto slope = [&](double theta) {
        return likelihood.slope_in_theta(likelihood.best_mu(theta), theta);
    };
    BetaBinomialFit fit;
    fit.mu = likelihood.best_mu(0.0);
    fit.binomial_log_likelihood = likelihood.value(fit.mu, 0.0);
    if (slope(0.0) > 0.0) {
        double high = smallest_theta;
        while (high < largest_theta && slope(high) > 0.0)
            high *= 4.0;
        fit.theta = root(slope, high / 4.0, high);
        fit.mu = likelihood.best_mu(fit.theta);
        fit.alpha = fit.mu / fit.theta;
        fit.beta = (1.0 - fit.mu) / fit.theta;
        fit.intra_class = fit.theta / (1.0 + fit.theta);
    }
    fit.log_likelihood = likelihood.value(fit.mu, fit.theta);
    return fit;
}

std::optional<Estimate> share_of_units_above(std::span<const Group> units, Share limit,
                                             Confidence confidence) {
    const auto fit = fit_beta_binomial(units);
    if (!fit)
        return std::nullopt;
    const BetaBinomialLikelihood likelihood{units};
    const double bar = fit->log_likelihood - chi_squared_quantile(confidence.level(), 1.0) / 2.0;
    const auto above = [&](double theta) -> std::optional<Interval> {
        const auto range = mu_range(likelihood, theta, bar);
        if (!range)
            return std::nullopt;
        return Interval{.low = share_above(limit.value(), range->low, theta),
                        .high = share_above(limit.value(), range->high, theta)};
    };
    const double value = share_above(limit.value(), fit->mu, fit->theta);
    Interval interval{.low = value, .high = value};
    if (const auto binomial = above(0.0)) {
        interval.low = std::min(interval.low, binomial->low);
        interval.high = std::max(interval.high, binomial->high);
    }
    const double centre = std::max(fit->theta, smallest_centre);
    interval.high = std::max(interval.high, largest_over_theta(centre, [&](double theta) {
                                 const auto found = above(theta);
                                 return found ? found->high : value;
                             }));
    interval.low = std::min(interval.low, -largest_over_theta(centre, [&](double theta) {
                                const auto found = above(theta);
                                return found ? -found->low : -value;
                            }));
    return Estimate{.value = value,
                    .interval = interval,
                    .confidence = confidence,
                    .method = "beta-binomial, profile likelihood"};
}

} // namespace dropledger::statistics
