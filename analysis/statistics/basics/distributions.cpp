#include "analysis/statistics/basics/distributions.hpp"

#include <boost/math/distributions/beta.hpp>
#include <boost/math/distributions/chi_squared.hpp>
#include <boost/math/distributions/fisher_f.hpp>
#include <boost/math/distributions/non_central_t.hpp>
#include <boost/math/distributions/normal.hpp>
#include <boost/math/distributions/students_t.hpp>
#include <boost/math/policies/policy.hpp>
#include <boost/math/special_functions/gamma.hpp>

#include <algorithm>
#include <cmath>
#include <stdexcept>

namespace dropledger::statistics {

namespace {

namespace math = boost::math;

// Infinite quantiles come back as infinities; every other misuse throws.
using Policy = math::policies::policy<math::policies::overflow_error<math::policies::ignore_error>,
                                      math::policies::promote_double<false>>;
using Normal = math::normal_distribution<double, Policy>;
using StudentT = math::students_t_distribution<double, Policy>;
using ChiSquared = math::chi_squared_distribution<double, Policy>;
using FisherF = math::fisher_f_distribution<double, Policy>;
using Beta = math::beta_distribution<double, Policy>;
using NonCentralT = math::non_central_t_distribution<double, Policy>;

double as_double(std::int64_t k) {
    return static_cast<double>(k);
}

void check(bool right, const char* what) {
    if (!right)
        throw std::domain_error(what);
}

void check(BinomialLaw law) {
    check(law.n >= 0 && law.p >= 0.0 && law.p <= 1.0, "binomial: n >= 0 and 0 <= p <= 1");
}

void check(HypergeometricLaw law) {
    check(law.lot >= 0 && law.nonconforming >= 0 && law.nonconforming <= law.lot &&
              law.sample >= 0 && law.sample <= law.lot,
          "hypergeometric: 0 <= nonconforming, sample <= lot");
}

std::int64_t least_hits(HypergeometricLaw law) {
    return std::max<std::int64_t>(0, law.sample + law.nonconforming - law.lot);
}

std::int64_t most_hits(HypergeometricLaw law) {
    return std::min(law.sample, law.nonconforming);
}

// P(X <= k), summed from k down: the masses fall on that side where k lies below the mean, so the
// first is the largest and none of them is lost to underflow.
double lower_tail(std::int64_t k, HypergeometricLaw law) {
    double mass = hypergeometric_pmf(k, law);
    double total = mass;
    for (; k > least_hits(law) && mass > 0.0; --k) {
        mass *= as_double(k) * as_double(law.lot - law.nonconforming - law.sample + k) /
                (as_double(law.nonconforming - k + 1) * as_double(law.sample - k + 1));
        total += mass;
    }
    return std::min(total, 1.0);
}

// P(X > k) is P(Y <= K - k - 1) for the Y = K - X nonconforming units left outside the sample.
HypergeometricLaw outside(HypergeometricLaw law) {
    return {.lot = law.lot, .nonconforming = law.nonconforming, .sample = law.lot - law.sample};
}

bool below_mean(std::int64_t k, HypergeometricLaw law) {
    return as_double(k) * as_double(law.lot) < as_double(law.sample) * as_double(law.nonconforming);
}

} // namespace

double normal_cdf(double z) {
    return math::cdf(Normal{}, z);
}
double normal_sf(double z) {
    return math::cdf(math::complement(Normal{}, z));
}
double normal_quantile(double probability) {
    return math::quantile(Normal{}, probability);
}

double student_t_sf(double t, double degrees) {
    return math::cdf(math::complement(StudentT{degrees}, t));
}
double student_t_quantile(double probability, double degrees) {
    return math::quantile(StudentT{degrees}, probability);
}

double chi_squared_cdf(double x, double degrees) {
    return math::cdf(ChiSquared{degrees}, x);
}
double chi_squared_sf(double x, double degrees) {
    return math::cdf(math::complement(ChiSquared{degrees}, x));
}
double chi_squared_quantile(double probability, double degrees) {
    return math::quantile(ChiSquared{degrees}, probability);
}

double f_sf(double x, FDegrees degrees) {
    return math::cdf(math::complement(FisherF{degrees.numerator, degrees.denominator}, x));
}
double f_quantile(double probability, FDegrees degrees) {
    return math::quantile(FisherF{degrees.numerator, degrees.denominator}, probability);
}

double beta_cdf(double x, BetaShape shape) {
    return math::cdf(Beta{shape.a, shape.b}, x);
}
double beta_sf(double x, BetaShape shape) {
    return math::cdf(math::complement(Beta{shape.a, shape.b}, x));
}
double beta_quantile(double probability, BetaShape shape) {
    return math::quantile(Beta{shape.a, shape.b}, probability);
}

double noncentral_t_cdf(double t, NoncentralT law) {
    return math::cdf(NonCentralT{law.degrees, law.delta}, t);
}
double noncentral_t_quantile(double probability, NoncentralT law) {
    return math::quantile(NonCentralT{law.degrees, law.delta}, probability);
}

double binomial_pmf(std::int64_t k, BinomialLaw law) {
    check(law);
    if (k < 0 || k > law.n)
        return 0.0;
    if (law.p == 0.0 || law.p == 1.0)
        return k == (law.p == 0.0 ? 0 : law.n) ? 1.0 : 0.0;
    // P(X = k) = density of Beta(k + 1, n - k + 1) at p, over n + 1: exact to the last digits.
    return math::ibeta_derivative(as_double(k + 1), as_double(law.n - k + 1), law.p, Policy{}) /
           as_double(law.n + 1);
}
double binomial_cdf(std::int64_t k, BinomialLaw law) {
    check(law);
    if (k < 0)
        return 0.0;
    if (k >= law.n)
        return 1.0;
    return math::ibetac(as_double(k + 1), as_double(law.n - k), law.p, Policy{});
}
double binomial_sf(std::int64_t k, BinomialLaw law) {
    check(law);
    if (k < 0)
        return 1.0;
    if (k >= law.n)
        return 0.0;
    return math::ibeta(as_double(k + 1), as_double(law.n - k), law.p, Policy{});
}
std::int64_t binomial_quantile(double probability, BinomialLaw law) {
    check(law);
    std::int64_t low = 0;
    std::int64_t high = law.n;
    while (low < high) {
        const std::int64_t middle = low + (high - low) / 2;
        if (binomial_cdf(middle, law) >= probability)
            high = middle;
        else
            low = middle + 1;
    }
    return low;
}

double hypergeometric_pmf(std::int64_t k, HypergeometricLaw law) {
    check(law);
    if (k < least_hits(law) || k > most_hits(law))
        return 0.0;
    return std::exp(log_choose(law.nonconforming, k) +
                    log_choose(law.lot - law.nonconforming, law.sample - k) -
                    log_choose(law.lot, law.sample));
}
double hypergeometric_cdf(std::int64_t k, HypergeometricLaw law) {
    check(law);
    if (k < least_hits(law))
        return 0.0;
    if (k >= most_hits(law))
        return 1.0;
    return below_mean(k, law) ? lower_tail(k, law)
                              : 1.0 - lower_tail(law.nonconforming - k - 1, outside(law));
}
double hypergeometric_sf(std::int64_t k, HypergeometricLaw law) {
    check(law);
    if (k < least_hits(law))
        return 1.0;
    if (k >= most_hits(law))
        return 0.0;
    return below_mean(k, law) ? 1.0 - lower_tail(k, law)
                              : lower_tail(law.nonconforming - k - 1, outside(law));
}

double poisson_pmf(std::int64_t k, double mean) {
    check(mean >= 0.0, "poisson: mean >= 0");
    if (k < 0)
        return 0.0;
    if (mean == 0.0)
        return k == 0 ? 1.0 : 0.0;
    return math::gamma_p_derivative(as_double(k + 1), mean, Policy{});
}
double poisson_cdf(std::int64_t k, double mean) {
    check(mean >= 0.0, "poisson: mean >= 0");
    return k < 0 ? 0.0 : math::gamma_q(as_double(k + 1), mean, Policy{});
}

double log_choose(std::int64_t n, std::int64_t k) {
    check(k >= 0 && k <= n, "log_choose: 0 <= k <= n");
    if (k == 0 || k == n)
        return 0.0;
    return math::lgamma(as_double(n + 1), Policy{}) - math::lgamma(as_double(k + 1), Policy{}) -
           math::lgamma(as_double(n - k + 1), Policy{});
}

} // namespace dropledger::statistics
