#include "analysis/statistics/values/dependence.hpp"

#include "analysis/statistics/basics/distributions.hpp"

#include <algorithm>
#include <array>
#include <cmath>

namespace dropledger::statistics {

namespace {

constexpr double prior_independent = 0.8;
constexpr double prior_wandering = 0.14;
constexpr double prior_partly = 1.0 - prior_independent - prior_wandering;
constexpr int wandering_points = 48;
constexpr int partly_points = 14;
constexpr double least_partly_rho = 0.4;
constexpr std::array<double, 6> partly_wander{0.1, 0.25, 0.4, 0.55, 0.7, 0.85};
constexpr double least_weight = 1e-5;
constexpr std::int64_t fewest_for_model = 4;

struct Candidate {
    double rho = 0.0;
    double wander = 0.0;
    double prior = 0.0;
};

// Denser towards 1, where a small step of rho changes much.
void add_row(std::vector<Candidate>& all, double wander, double from, double to, int points,
             double prior) {
    for (int i = 0; i < points; ++i) {
        const double left = 1.0 - (i + 0.5) / points;
        all.push_back(
            {.rho = to - (to - from) * left * left, .wander = wander, .prior = prior / points});
    }
}

std::vector<Candidate> candidates(std::int64_t n) {
    const double most = 1.0 - 1.0 / static_cast<double>(n);
    std::vector<Candidate> all{{.rho = 0.0, .wander = 0.0, .prior = prior_independent}};
    add_row(all, 1.0, 0.0, most, wandering_points, prior_wandering);
    for (const double wander : partly_wander)
        add_row(all, wander, least_partly_rho, most, partly_points,
                prior_partly / static_cast<double>(partly_wander.size()));
    return all;
}

// Of a sum of `block` values, over the values' own.
double block_variance(const Candidate& point, double block) {
    return block * (1.0 + point.wander * (geometric_inflation(point.rho, block) - 1.0));
}

struct Scored {
    DependencePoint point;
    double log_likelihood = 0.0;
};

Scored scored(const Candidate& candidate, const SeriesSums& sums) {
    double log_v = 0.0;
    double explained = 0.0;
    double degrees = 0.0;
    for (const ScaleEnergy& scale : sums.scales) {
        const auto block = static_cast<double>(scale.block);
        const auto pairs = static_cast<double>(scale.pairs);
        const double v =
            4.0 * block_variance(candidate, block) - block_variance(candidate, 2.0 * block);
        log_v += pairs * std::log(v);
        explained += scale.energy / v;
        degrees += pairs;
    }
    Scored out{.point = {.rho = candidate.rho, .wander = candidate.wander},
               .log_likelihood = std::log(candidate.prior) - 0.5 * log_v -
                                 0.5 * degrees * std::log(explained / sums.squares)};
    out.point.variance = explained / degrees;
    out.point.degrees = degrees;
    return out;
}

} // namespace

double geometric_inflation(double r, double n) {
    if (!(r > 0.0) || n <= 1.0)
        return 1.0;
    const double rest = 1.0 - r;
    return (1.0 + r) / rest + 2.0 * r * std::expm1(n * std::log(r)) / (n * rest * rest);
}

std::optional<Dependence> Dependence::of(const SeriesSums& sums) {
    const auto varies = [](const ScaleEnergy& scale) { return scale.energy > 0.0; };
    if (sums.n < fewest_for_model || !(sums.squares > 0.0) ||
        std::none_of(sums.scales.begin(), sums.scales.end(), varies))
        return std::nullopt;
    std::vector<Scored> all;
    for (const Candidate& candidate : candidates(sums.n))
        all.push_back(scored(candidate, sums));
    // Independent values: the whole sum of squares is known better than by its energies.
    const auto others = static_cast<double>(sums.n - 1);
    all.front().point.variance = sums.squares / others;
    all.front().point.degrees = others;
    const auto best = std::max_element(all.begin(), all.end(), [](const auto& a, const auto& b) {
        return a.log_likelihood < b.log_likelihood;
    });
    double total = 0.0;
    for (Scored& one : all) {
        one.point.weight = std::exp(one.log_likelihood - best->log_likelihood);
        total += one.point.weight > least_weight ? one.point.weight : 0.0;
    }
    Dependence out;
    out.n_ = sums.n;
    out.sample_variance_ = sums.squares / others;
    for (Scored& one : all)
        if (one.point.weight > least_weight) {
            one.point.weight /= total;
            out.points_.push_back(one.point);
        }
    return out;
}

double Dependence::mean_inflation(const DependencePoint& point) const {
    return 1.0 + point.wander * (geometric_inflation(point.rho, static_cast<double>(n_)) - 1.0);
}

double Dependence::square_inflation(const DependencePoint& point) const {
    const double r = point.rho * point.rho;
    return 1.0 +
           point.wander * point.wander * (geometric_inflation(r, static_cast<double>(n_)) - 1.0);
}

double Dependence::mean_inflation() const {
    double all = 0.0;
    for (const DependencePoint& point : points_)
        all += point.weight * mean_inflation(point);
    return all;
}

double Dependence::doubt() const {
    double independent = 0.0;
    for (const DependencePoint& point : points_)
        independent += point.rho > 0.0 ? 0.0 : point.weight;
    return 1.0 - independent;
}

double Dependence::effective_n() const {
    return static_cast<double>(n_) / mean_inflation();
}

// Of two normal values with correlation r, the indicators of one tail correlate by
// sum of r^j · (phi(c)·he_{j-1}(c))² / (j·tail·(1 − tail)), he the Hermite polynomials over
// √(j−1)!.
IndicatorWeights::IndicatorWeights(double tail) {
    constexpr int terms = 30;
    constexpr double two_pi = 6.283185307179586;
    const double c = normal_quantile(tail);
    const double density_squared = std::exp(-c * c) / two_pi;
    double before = 0.0;
    double here = 1.0;
    double rest = 1.0;
    for (int j = 1; j <= terms; ++j) {
        const double weight = density_squared * here * here / (j * tail * (1.0 - tail));
        weights_.push_back(weight);
        rest -= weight;
        const double next = (c * here - std::sqrt(j - 1.0) * before) / std::sqrt(j);
        before = here;
        here = next;
    }
    weights_.push_back(std::max(0.0, rest)); // the tail of the series, as if all of it came here
}

double IndicatorWeights::inflation(const DependencePoint& point, double n) const {
    double all = 1.0;
    double wander = 1.0;
    double r = 1.0;
    for (const double weight : weights_) {
        wander *= point.wander;
        r *= point.rho;
        all += weight * wander * (geometric_inflation(r, n) - 1.0);
    }
    return all;
}

} // namespace dropledger::statistics
