// Notation: u = first + x·step; r = step / u; L = to - from; h = L·step / u(from).
#include "analysis/statistics/basics/long_sums.hpp"

#include <algorithm>
#include <cmath>

namespace dropledger::statistics {

namespace {

constexpr std::int64_t plain_terms = 64;
constexpr double little = 1e-3; // below, the integrals are taken from their series

// A function of x with its first, third and fifth derivative.
struct Jet {
    double value;
    double first;
    double third;
    double fifth;
};

// [DLMF 2.10.1] sum over a <= j < b from the integral and the jets at both ends
double euler_maclaurin(double integral, const Jet& a, const Jet& b) {
    return integral + (a.value - b.value) / 2.0 + (b.first - a.first) / 12.0 -
           (b.third - a.third) / 720.0 + (b.fifth - a.fifth) / 30240.0;
}

// ((1 + h) ln(1 + h) - h) / h
double log_part(double h) {
    if (h < little)
        return h * (1.0 / 2.0 - h * (1.0 / 6.0 - h * (1.0 / 12.0 - h / 20.0)));
    return ((1.0 + h) * std::log1p(h) - h) / h;
}

// ln(1 + h) / h
double inverse_part(double h) {
    return h < little ? 1.0 - h * (1.0 / 2.0 - h * (1.0 / 3.0 - h * (1.0 / 4.0 - h / 5.0)))
                      : std::log1p(h) / h;
}

// (h - ln(1 + h)) / h²
double ratio_part(double h) {
    return h < little ? 1.0 / 2.0 - h * (1.0 / 3.0 - h * (1.0 / 4.0 - h * (1.0 / 5.0 - h / 6.0)))
                      : (h - std::log1p(h)) / (h * h);
}

// What stands before plain_terms, term by term, and the rest as one stretch.
template <class Term, class Rest>
double in_two_parts(Stretch over, const Term& term, const Rest& rest) {
    const std::int64_t plain_to = std::clamp(plain_terms, over.from, over.to);
    double sum = 0.0;
    for (std::int64_t j = over.from; j < plain_to; ++j)
        sum += term(static_cast<double>(j));
    if (plain_to < over.to)
        sum += rest(static_cast<double>(plain_to), static_cast<double>(over.to));
    return sum;
}

} // namespace

double sum_of_logs(Progression u, Stretch over) {
    const auto at = [&](double x) { return u.first + x * u.step; };
    // ln(1 + x·step) keeps its digits where the step is tiny
    const auto log_at = [&](double x) {
        return u.first == 1.0 ? std::log1p(x * u.step) : std::log(at(x));
    };
    const auto jet = [&](double x) {
        const double r = u.step / at(x);
        return Jet{log_at(x), r, 2.0 * std::pow(r, 3), 24.0 * std::pow(r, 5)};
    };
    return in_two_parts(over, log_at, [&](double a, double b) {
        if (at(a) == 0.0)
            return std::log(0.0);
        const double length = b - a;
        const double h = length * u.step / at(a);
        return euler_maclaurin(length * (log_at(a) + log_part(h)), jet(a), jet(b));
    });
}

double sum_of_inverses(Progression u, Stretch over) {
    const auto at = [&](double x) { return u.first + x * u.step; };
    const auto jet = [&](double x) {
        const double r = u.step / at(x);
        const double value = 1.0 / at(x);
        return Jet{value, -r * value, -6.0 * std::pow(r, 3) * value,
                   -120.0 * std::pow(r, 5) * value};
    };
    return in_two_parts(
        over, [&](double x) { return 1.0 / at(x); },
        [&](double a, double b) {
            if (at(a) == 0.0)
                return 1.0 / at(a);
            const double length = b - a;
            const double h = length * u.step / at(a);
            return euler_maclaurin(length * inverse_part(h) / at(a), jet(a), jet(b));
        });
}

double sum_of_ratios(Progression u, Stretch over) {
    const auto at = [&](double x) { return u.first + x * u.step; };
    const auto jet = [&](double x) {
        const double r = u.step / at(x);
        const double slope = u.first / (at(x) * at(x));
        return Jet{x / at(x), slope, 6.0 * r * r * slope, 120.0 * std::pow(r, 4) * slope};
    };
    return in_two_parts(
        over, [&](double x) { return x == 0.0 ? 0.0 : x / at(x); },
        [&](double a, double b) {
            if (at(a) == 0.0)
                return a / at(a);
            const double length = b - a;
            const double h = length * u.step / at(a);
            const double integral = (a * inverse_part(h) + length * ratio_part(h)) * length / at(a);
            return euler_maclaurin(integral, jet(a), jet(b));
        });
}

} // namespace dropledger::statistics
