#include "analysis/statistics/shares/clustering.hpp"

#include "analysis/statistics/basics/distributions.hpp"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <numbers>
#include <numeric>

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

double run_probability(const RunQuestion& question) {
    if (question.length < 1)
        return 1.0;
    if (question.length > question.entries)
        return 0.0;
    // chance[i]: no run yet and the last i entries are of the kind.
    const auto length = static_cast<std::size_t>(question.length);
    std::vector<double> chance(length, 0.0);
    chance[0] = 1.0;
    double found = 0.0;
    for (std::int64_t entry = 0; entry < question.entries; ++entry) {
        const double all = std::accumulate(chance.begin(), chance.end(), 0.0);
        found += chance.back() * question.share;
        for (std::size_t i = length - 1; i > 0; --i)
            chance[i] = chance[i - 1] * question.share;
        chance[0] = all * (1.0 - question.share);
    }
    return std::min(1.0, found);
}

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

std::optional<Rayleigh> rayleigh_test(std::span<const double> radians) {
    if (radians.empty())
        return std::nullopt;
    double east = 0.0;
    double north = 0.0;
    for (const double direction : radians) {
        east += std::cos(direction);
        north += std::sin(direction);
    }
    const double n = static_cast<double>(radians.size());
    const double length = std::hypot(east, north);
    const double direction = std::atan2(north, east);
    // Zar 2010, eq. 27.4: close to the exact law already for small n, where exp(-z) is far off.
    const double p =
        std::exp(std::sqrt(1.0 + 4.0 * n + 4.0 * (n * n - length * length)) - (1.0 + 2.0 * n));
    return Rayleigh{.mean_length = length / n,
                    .mean_direction =
                        direction < 0.0 ? direction + 2.0 * std::numbers::pi : direction,
                    .z = length * length / n,
                    .p = std::min(1.0, p)};
}

std::optional<RunLengthTest> run_length_test(std::span<const std::int64_t> runs) {
    double count = 0.0;
    double entries = 0.0;
    for (std::size_t i = 0; i < runs.size(); ++i) {
        count += static_cast<double>(runs[i]);
        entries += static_cast<double>(runs[i]) * static_cast<double>(i + 1);
    }
    if (count <= 0.0 || entries <= count)
        return std::nullopt;
    RunLengthTest out;
    out.share = 1.0 - count / entries; // maximum likelihood of the geometric law
    double left_seen = count;
    double left_expected = count;
    int classes = 0;
    for (std::size_t i = 0; left_expected > 0.0; ++i) {
        const double here = count * (1.0 - out.share) * std::pow(out.share, static_cast<double>(i));
        const bool last = left_expected - here < 5.0;
        const double seen = last ? left_seen : i < runs.size() ? static_cast<double>(runs[i]) : 0.0;
        const double expected = last ? left_expected : here;
        out.chi_squared += (seen - expected) * (seen - expected) / expected;
        ++classes;
        if (last)
            break;
        left_seen -= seen;
        left_expected -= here;
    }
    if (classes < 3) // one degree goes to the estimated share
        return std::nullopt;
    out.degrees = static_cast<double>(classes - 2);
    out.p = chi_squared_sf(out.chi_squared, out.degrees);
    return out;
}

} // namespace dropledger::statistics
