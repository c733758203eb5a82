// Between-unit variance of a share: counts x of n per unit as beta-binomial, and what that says of
// all units.
//
// Assumes: units are alike in kind; each unit's entries are independent given its own share.
// Undefined when: fewer than two units, no entries, or no hits or only hits anywhere: std::nullopt.
// Without overdispersion theta is 0 (binomial: all units have one share) and alpha and beta are
// empty.
// Source: likelihood in mean mu and theta = 1/(alpha + beta), Griffiths 1973; test: Tarone 1979;
// intervals by profile likelihood.
#pragma once

#include "analysis/base/units.hpp"
#include "analysis/statistics/basics/estimate.hpp"
#include "analysis/statistics/basics/long_sums.hpp"
#include "analysis/statistics/shares/comparison.hpp"

#include <optional>
#include <span>
#include <vector>

namespace dropledger::statistics {

struct Tarone {
    double z = 0.0;
    double p = 1.0; // one-sided: overdispersed
};
[[nodiscard]] std::optional<Tarone> tarone_test(std::span<const Group> units);

// So many units have more than j of a kind, for each j of the stretch.
struct UnitsBeyond {
    Stretch over;
    double units = 0.0;
};

// log-likelihood of the counts; theta = 0 is the binomial.
class BetaBinomialLikelihood {
public:
    explicit BetaBinomialLikelihood(std::span<const Group> units);

    [[nodiscard]] double value(double mu, double theta) const;
    // The mu of the largest likelihood at this theta.
    [[nodiscard]] double best_mu(double theta) const;
    [[nodiscard]] double slope_in_theta(double mu, double theta) const;

private:
    [[nodiscard]] double slope_in_mu(double mu, double theta) const;

    double constant_ = 0.0;            // ln of the binomial coefficients
    std::vector<UnitsBeyond> hits_;    // how many units have more than j hits
    std::vector<UnitsBeyond> others_;  // … more than j others
    std::vector<UnitsBeyond> entries_; // … more than j entries
};

struct BetaBinomialFit {
    double mu = 0.0;    // mean share
    double theta = 0.0; // 0: no variance between units beyond the binomial
    std::optional<double> alpha;
    std::optional<double> beta;
    double intra_class = 0.0; // 1 / (alpha + beta + 1)
    double log_likelihood = 0.0;
    double binomial_log_likelihood = 0.0;
};
[[nodiscard]] std::optional<BetaBinomialFit> fit_beta_binomial(std::span<const Group> units);

// Share of all units whose own share lies above `limit`.
[[nodiscard]] std::optional<Estimate> share_of_units_above(std::span<const Group> units,
                                                           Share limit, Confidence confidence);

} // namespace dropledger::statistics
