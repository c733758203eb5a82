#include "analysis/statistics/trends/trend.hpp"

#include "analysis/statistics/basics/distributions.hpp"

#include <algorithm>
#include <cmath>

namespace dropledger::statistics {

namespace {

constexpr double prior_independent = 0.3;
constexpr int grid = 60;
constexpr std::size_t fewest = 5;

// Normal equations of the line, values one step apart, after the correlation is taken out.
struct Normal {
    double oo = 0.0, ox = 0.0, xx = 0.0; // of the constant and the step
    double oy = 0.0, xy = 0.0, yy = 0.0;

    void add(double o, double x, double y) {
        oo += o * o;
        ox += o * x;
        xx += x * x;
        oy += o * y;
        xy += x * y;
        yy += y * y;
    }
    [[nodiscard]] double determinant() const { return oo * xx - ox * ox; }
    [[nodiscard]] double slope() const { return (oo * xy - ox * oy) / determinant(); }
    [[nodiscard]] double residual_squares() const {
        const double level = (xx * oy - ox * xy) / determinant();
        return std::max(0.0, yy - level * oy - slope() * xy);
    }
};

Normal whitened(std::span<const double> values, double rho) {
    const double middle = 0.5 * static_cast<double>(values.size() - 1);
    const double first = std::sqrt(1.0 - rho * rho);
    Normal sums;
    for (std::size_t i = 0; i < values.size(); ++i) {
        const double x = static_cast<double>(i) - middle;
        if (i == 0)
            sums.add(first, first * x, first * values[i]);
        else
            sums.add(1.0 - rho, x - rho * (x - 1.0), values[i] - rho * values[i - 1]);
    }
    return sums;
}

} // namespace

std::optional<SlopeLaw> SlopeLaw::of(std::span<const double> values) {
    if (values.size() < fewest)
        return std::nullopt;
    SlopeLaw law;
    law.degrees_ = static_cast<double>(values.size() - 2);
    std::vector<double> scores;
    double scale = 0.0; // of the residual squares, so that powers of them stay in range
    for (int i = 0; i <= grid; ++i) {
        const double rho = i == 0 ? 0.0 : (i - 0.5) / grid;
        const Normal sums = whitened(values, rho);
        const double squares = sums.residual_squares();
        if (i == 0)
            scale = squares;
        if (!(squares > 0.0) || !(scale > 0.0)) // all on one line
            return std::nullopt;
        const double prior = i == 0 ? prior_independent : (1.0 - prior_independent) / grid;
        scores.push_back(std::log(prior) + 0.5 * std::log(1.0 - rho * rho) -
                         0.5 * std::log(sums.determinant()) -
                         0.5 * law.degrees_ * std::log(squares / scale));
        law.parts_.push_back(
            {.weight = 0.0,
             .slope = sums.slope(),
             .error = std::sqrt(squares / law.degrees_ * sums.oo / sums.determinant())});
    }
    const double best = *std::max_element(scores.begin(), scores.end());
    double total = 0.0;
    for (std::size_t i = 0; i < scores.size(); ++i)
        total += law.parts_[i].weight = std::exp(scores[i] - best);
    for (Part& part : law.parts_)
        part.weight /= total;
    return law;
}

double SlopeLaw::p_value() const {
    double all = 0.0;
    for (const Part& part : parts_)
        all += part.weight * 2.0 * student_t_sf(std::abs(part.slope) / part.error, degrees_);
    return std::min(1.0, all);
}

double SlopeLaw::standard_error() const {
    double squares = 0.0;
    for (const Part& part : parts_)
        squares += part.weight * part.error * part.error;
    return std::sqrt(squares);
}

} // namespace dropledger::statistics
