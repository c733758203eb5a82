#include "analysis/statistics/shares/clustering.hpp"

#include "analysis/statistics/basics/distributions.hpp"

#include <algorithm>
#include <cmath>

namespace dropledger::statistics {

namespace {

// Notation of Naus 1982: k count, psi mean per window, p mass and cdf (Naus: F) distribution of
// Poisson(psi).
class Naus {
public:
    Naus(std::int64_t k, double psi) : k_(k), psi_(psi) {}

    [[nodiscard]] double q2() const {
        return cdf(k_ - 1) * cdf(k_ - 1) - d(k_ - 1) * p(k_) * p(k_ - 2) -
               (d(k_ - 1) - psi_) * p(k_) * cdf(k_ - 3);
    }

    [[nodiscard]] double q3() const {
        const double a1 =
            2.0 * p(k_) * cdf(k_ - 1) * (d(k_ - 1) * cdf(k_ - 2) - psi_ * cdf(k_ - 3));
        const double a2 = 0.5 * p(k_) * p(k_) *
                          (d(k_ - 1) * d(k_ - 2) * cdf(k_ - 3) -
                           2.0 * d(k_ - 2) * psi_ * cdf(k_ - 4) + psi_ * psi_ * cdf(k_ - 5));
        double a3 = 0.0;
        double a4 = 0.0;
        for (std::int64_t r = 1; r < k_; ++r) {
            a3 += p(2 * k_ - r) * cdf(r - 1) * cdf(r - 1);
            if (r >= 2)
                a4 += p(2 * k_ - r) * p(r) * (d(r - 1) * cdf(r - 2) - psi_ * cdf(r - 3));
        }
        return cdf(k_ - 1) * cdf(k_ - 1) * cdf(k_ - 1) - a1 + a2 + a3 - a4;
    }

private:
    [[nodiscard]] static double d(std::int64_t count) { return static_cast<double>(count); }
    [[nodiscard]] double p(std::int64_t count) const { return poisson_pmf(count, psi_); }
    [[nodiscard]] double cdf(std::int64_t count) const { return poisson_cdf(count, psi_); }

    std::int64_t k_;
    double psi_;
};

} // namespace

double expected_runs(const RunQuestion& question) {
    if (question.length < 1 || question.length > question.entries)
        return 0.0;
    const double starts = static_cast<double>(question.entries - question.length);
    return std::pow(question.share, static_cast<double>(question.length)) *
           (1.0 + starts * (1.0 - question.share));
}

std::optional<double> scan_probability(const ScanQuestion& question) {
    if (question.windows < 2.0 || question.most < 1 || question.mean_per_window <= 0.0)
        return std::nullopt;
    if (question.most == 1) // any at all
        return -std::expm1(-question.mean_per_window * question.windows);
    const Naus naus{question.most, question.mean_per_window};
    const double two = naus.q2();
    const double three = naus.q3();
    if (two <= 0.0 || three <= 0.0)
        return 1.0;
    const double none = two * std::pow(std::min(1.0, three / two), question.windows - 2.0);
    return std::clamp(1.0 - none, 0.0, 1.0);
}

} // namespace dropledger::statistics
