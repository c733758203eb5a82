#include "calibration/gauge/mean_squares.hpp"

#include "analysis/statistics/basics/distributions.hpp"

#include <algorithm>
#include <cmath>

namespace dropledger::calibration {

namespace {

using statistics::chi_squared_quantile;

// One limit: `tail` is the chance that a mean square exceeds what its quantile stands for, on the
// side that lowers (lower limit) or raises (upper limit) the sum.
class Limit {
public:
    Limit(const std::vector<MeanSquare>& terms, double tail, bool lower)
        : tail_(tail), lower_(lower) {
        for (const MeanSquare& term : terms)
            if (term.coefficient != 0.0)
                ((term.coefficient > 0.0) == lower_ ? near_ : far_).push_back(term);
    }

    // Mean squares that move the limit by being too large by chance are `near_` ones.
    [[nodiscard]] double squared_distance() const {
        double sum = 0.0;
        for (const MeanSquare& term : near_)
            sum += square(shrink(term.degrees) * size(term));
        for (const MeanSquare& term : far_)
            sum += square(stretch(term.degrees) * size(term));
        if (near_.empty() || far_.empty())
            return sum;
        for (const MeanSquare& near : near_)
            for (const MeanSquare& far : far_)
                sum += cross(near.degrees, far.degrees) * size(near) * size(far);
        for (std::size_t i = 0; i < near_.size(); ++i)
            for (std::size_t j = i + 1; j < near_.size(); ++j)
                sum += joint(near_[i].degrees, near_[j].degrees) * size(near_[i]) * size(near_[j]);
        return std::max(0.0, sum);
    }

private:
    static double square(double x) { return x * x; }
    static double size(const MeanSquare& term) { return std::fabs(term.coefficient) * term.value; }
    // Relative distance to the limit that a single mean square would have below, and above.
    [[nodiscard]] double shrink(double degrees) const {
        return 1.0 - degrees / chi_squared_quantile(1.0 - tail_, degrees);
    }
    [[nodiscard]] double stretch(double degrees) const {
        return degrees / chi_squared_quantile(tail_, degrees) - 1.0;
    }
    [[nodiscard]] double cross(double near, double far) const {
        const double f = statistics::f_quantile(1.0 - tail_, {near, far});
        return (square(f - 1.0) - square(shrink(near)) * f * f - square(stretch(far))) / f;
    }
    [[nodiscard]] double joint(double a, double b) const {
        const double both = shrink(a + b);
        return (square(both) * square(a + b) / (a * b) - square(shrink(a)) * a / b -
                square(shrink(b)) * b / a) /
               static_cast<double>(near_.size() - 1);
    }

    double tail_;
    bool lower_;
    std::vector<MeanSquare> near_;
    std::vector<MeanSquare> far_;
};

} // namespace

double combined(const std::vector<MeanSquare>& terms) {
    double sum = 0.0;
    for (const MeanSquare& term : terms)
        sum += term.coefficient * term.value;
    return sum;
}

statistics::Interval modified_large_sample(const std::vector<MeanSquare>& terms,
                                           Confidence confidence) {
    const double value = combined(terms);
    const double tail = confidence.each_tail();
    return {value - std::sqrt(Limit(terms, tail, true).squared_distance()),
            value + std::sqrt(Limit(terms, tail, false).squared_distance())};
}

} // namespace dropledger::calibration
