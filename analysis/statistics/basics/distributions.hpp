// Distribution functions, their complements and quantiles; the door to Boost.Math for every other
// room.
//
// Assumes: parameters in their range (degrees of freedom > 0, shapes > 0, 0 <= p <= 1). Anything
// else is our own bug and surfaces as std::domain_error.
// Undefined when: nothing inside the range; a quantile at 0 or 1 of an unbounded distribution is
// infinite. `_sf` is the survival function P(X > x), computed as such and not as 1 - cdf.
#pragma once

#include <cstdint>

namespace dropledger::statistics {

[[nodiscard]] double normal_cdf(double z);
[[nodiscard]] double normal_sf(double z);
[[nodiscard]] double normal_quantile(double probability);

[[nodiscard]] double student_t_sf(double t, double degrees);
[[nodiscard]] double student_t_quantile(double probability, double degrees);

[[nodiscard]] double chi_squared_cdf(double x, double degrees);
[[nodiscard]] double chi_squared_sf(double x, double degrees);
[[nodiscard]] double chi_squared_quantile(double probability, double degrees);

struct FDegrees {
    double numerator = 1.0;
    double denominator = 1.0;
};
[[nodiscard]] double f_sf(double x, FDegrees degrees);
[[nodiscard]] double f_quantile(double probability, FDegrees degrees);

struct BetaShape {
    double a = 1.0;
    double b = 1.0;
};
[[nodiscard]] double beta_cdf(double x, BetaShape shape);
[[nodiscard]] double beta_sf(double x, BetaShape shape);
[[nodiscard]] double beta_quantile(double probability, BetaShape shape);

struct NoncentralT {
    double degrees = 1.0;
    double delta = 0.0;
};
[[nodiscard]] double noncentral_t_cdf(double t, NoncentralT law);
[[nodiscard]] double noncentral_t_quantile(double probability, NoncentralT law);

// k may be any integer: outside the support the answer is 0 or 1.
struct BinomialLaw {
    std::int64_t n = 0;
    double p = 0.0;
};
[[nodiscard]] double binomial_pmf(std::int64_t k, BinomialLaw law);
[[nodiscard]] double binomial_cdf(std::int64_t k, BinomialLaw law);
[[nodiscard]] double binomial_sf(std::int64_t k, BinomialLaw law);
// Smallest k with cdf(k) >= probability.
[[nodiscard]] std::int64_t binomial_quantile(double probability, BinomialLaw law);

// A sample drawn without replacement from a lot of which so many are nonconforming.
struct HypergeometricLaw {
    std::int64_t lot = 0;
    std::int64_t nonconforming = 0;
    std::int64_t sample = 0;
};
[[nodiscard]] double hypergeometric_pmf(std::int64_t k, HypergeometricLaw law);
[[nodiscard]] double hypergeometric_cdf(std::int64_t k, HypergeometricLaw law);
[[nodiscard]] double hypergeometric_sf(std::int64_t k, HypergeometricLaw law);

[[nodiscard]] double poisson_pmf(std::int64_t k, double mean);
[[nodiscard]] double poisson_cdf(std::int64_t k, double mean);

// ln of the binomial coefficient; 0 <= k <= n.
[[nodiscard]] double log_choose(std::int64_t n, std::int64_t k);

} // namespace dropledger::statistics
