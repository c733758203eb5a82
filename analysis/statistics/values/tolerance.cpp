// Notation: P content, gamma confidence, nu = n - 1; x the error of the mean in units of sigma.
#include "analysis/statistics/values/tolerance.hpp"

#include "analysis/base/result.hpp"
#include "analysis/statistics/basics/distributions.hpp"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <vector>

namespace dropledger::statistics {

namespace {

void check(const ToleranceRequest& request) {
    const double content = request.content.value();
    if (request.n < 2 || content <= 0.0 || content >= 1.0)
        throw BrokenInvariant("tolerance factor: needs two values and a content between 0 and 1");
}

// The half width r that holds the content around a centre that is off by x: Phi(x + r) - Phi(x - r)
// = P.
double half_width(double x, double content) {
    double low = 0.0;
    double high = x + 40.0;
    for (int halving = 0; halving < 100; ++halving) {
        const double r = (low + high) / 2.0;
        (normal_cdf(x + r) - normal_cdf(x - r) < content ? low : high) = r;
    }
    return (low + high) / 2.0;
}

// One node of Simpson's rule over the error of the mean.
struct Node {
    double half_width = 0.0;
    double weight = 0.0;
};

std::vector<Node> nodes(const ToleranceRequest& request) {
    constexpr int panels = 400; // even
    const double spread = 1.0 / std::sqrt(static_cast<double>(request.n));
    const double step = 9.0 / panels; // in standard deviations of the mean, 0 … 9
    std::vector<Node> out;
    for (int i = 0; i <= panels; ++i) {
        const double z = i * step;
        const double simpson = i == 0 || i == panels ? 1.0 : i % 2 == 1 ? 4.0 : 2.0;
        const double density = std::exp(-z * z / 2.0) * 0.3989422804014327;
        out.push_back({.half_width = half_width(z * spread, request.content.value()),
                       .weight = 2.0 * simpson * step / 3.0 * density});
    }
    return out;
}

// How many values may lie outside: cutting off m in all leaves the content with P(inside <= n - m).
std::int64_t most_cut(const ToleranceRequest& request) {
    const BinomialLaw inside{.n = request.n, .p = request.content.value()};
    std::int64_t cut = request.n + 1;
    while (cut > 0 && binomial_cdf(request.n - cut, inside) < request.confidence.level())
        --cut;
    return cut;
}

} // namespace

double two_sided_factor(const ToleranceRequest& request) {
    check(request);
    const double nu = static_cast<double>(request.n - 1);
    const auto grid = nodes(request);
    const auto confidence = [&](double k) {
        double sum = 0.0;
        for (const Node& node : grid)
            sum +=
                node.weight * chi_squared_sf(nu * node.half_width * node.half_width / (k * k), nu);
        return sum;
    };
    double low = 0.0;
    double high = 2.0 * two_sided_factor_howe(request) + 10.0;
    while (high - low > 1e-10 * high) {
        const double k = (low + high) / 2.0;
        (confidence(k) < request.confidence.level() ? low : high) = k;
    }
    return (low + high) / 2.0;
}

double two_sided_factor_howe(const ToleranceRequest& request) {
    check(request);
    const double n = static_cast<double>(request.n);
    const double z = normal_quantile((1.0 + request.content.value()) / 2.0);
    const double chi = chi_squared_quantile(1.0 - request.confidence.level(), n - 1.0);
    return z * std::sqrt((n - 1.0) * (1.0 + 1.0 / n) / chi);
}

double one_sided_factor(const ToleranceRequest& request) {
    check(request);
    const double n = static_cast<double>(request.n);
    const double delta = normal_quantile(request.content.value()) * std::sqrt(n);
    return noncentral_t_quantile(request.confidence.level(), {.degrees = n - 1.0, .delta = delta}) /
           std::sqrt(n);
}

double one_sided_factor_nist(const ToleranceRequest& request) {
    check(request);
    const double n = static_cast<double>(request.n);
    const double content = normal_quantile(request.content.value());
    const double sure = normal_quantile(request.confidence.level());
    const double a = 1.0 - sure * sure / (2.0 * (n - 1.0));
    const double b = content * content - sure * sure / n;
    return (content + std::sqrt(content * content - a * b)) / a;
}

std::optional<Ranks> tolerance_ranks(const ToleranceRequest& request) {
    const std::int64_t cut = most_cut(request);
    if (cut < 2)
        return std::nullopt;
    return Ranks{.low = cut / 2, .high = request.n + 1 - (cut - cut / 2)};
}

std::optional<std::int64_t> tolerance_rank_one_sided(const ToleranceRequest& request) {
    const std::int64_t cut = most_cut(request);
    return cut < 1 ? std::nullopt : std::optional(cut);
}

ValuesNeeded values_needed(Share content, Confidence confidence) {
    if (content.value() <= 0.0 || content.value() >= 1.0)
        throw BrokenInvariant("tolerance: needs a content between 0 and 1");
    const auto smallest = [&](std::int64_t cut) {
        std::int64_t none = 0; // not enough
        std::int64_t enough = 2;
        const auto holds = [&](std::int64_t n) {
            return binomial_cdf(n - cut, {.n = n, .p = content.value()}) >= confidence.level();
        };
        while (!holds(enough)) {
            none = enough;
            enough *= 2;
        }
        while (enough - none > 1) {
            const std::int64_t middle = none + (enough - none) / 2;
            (holds(middle) ? enough : none) = middle;
        }
        return enough;
    };
    return {.one_sided = smallest(1), .two_sided = smallest(2)};
}

} // namespace dropledger::statistics
