#include "analysis/statistics/line_fit.hpp"

#include "analysis/statistics/distributions.hpp"

#include <Eigen/Dense>

#include <algorithm>
#include <cmath>
#include <map>

namespace dropledger::statistics {

namespace {

bool usable(const std::vector<FitPoint>& points) {
    const bool weighted = !points.empty() && points.front().u.has_value();
    const auto bad = [&](const FitPoint& point) {
        return point.u.has_value() != weighted ||
               (weighted && !(*point.u > 0.0 && std::isfinite(*point.u))) ||
               !std::isfinite(point.x) || !std::isfinite(point.y);
    };
    const auto other_x = [&](const FitPoint& point) { return point.x != points.front().x; };
    return points.size() >= 3 && std::none_of(points.begin(), points.end(), bad) &&
           std::any_of(points.begin(), points.end(), other_x);
}

// F of the groups' means about the line against the scatter inside the groups.
std::optional<double> lack_of_fit_by_repeats(const std::vector<FitPoint>& points,
                                             double residual_squares) {
    struct Group {
        double n = 0.0;
        double mean = 0.0;
        double squares = 0.0;
    };
    std::map<int, Group> groups;
    for (const FitPoint& point : points) {
        if (!point.group)
            return std::nullopt;
        Group& group = groups[*point.group];
        group.n += 1.0;
        const double off = point.y - group.mean;
        group.mean += off / group.n;
        group.squares += off * (point.y - group.mean);
    }
    double pure = 0.0;
    for (const auto& [number, group] : groups)
        pure += group.squares;
    const auto k = static_cast<double>(groups.size());
    const auto n = static_cast<double>(points.size());
    if (k < 3.0 || n <= k || !(pure > 0.0))
        return std::nullopt;
    const double f = std::max(0.0, residual_squares - pure) / (k - 2.0) / (pure / (n - k));
    return statistics::f_sf(f, {k - 2.0, n - k});
}

// The parameters about the weighted centre of x, where they do not correlate.
struct Centred {
    double centre = 0.0;
    Eigen::Vector2d parameters; // y at the centre, slope
    Eigen::Matrix2d inverse;    // of the normal matrix
    double squares = 0.0;       // weighted, of the residuals
    double total_squares = 0.0; // of y about its mean
};

Centred solve(const std::vector<FitPoint>& points) {
    const auto n = static_cast<Eigen::Index>(points.size());
    Eigen::VectorXd x(n);
    Eigen::VectorXd y(n);
    Eigen::VectorXd root_weight(n);
    for (Eigen::Index i = 0; i < n; ++i) {
        const FitPoint& point = points[static_cast<std::size_t>(i)];
        x(i) = point.x;
        y(i) = point.y;
        root_weight(i) = 1.0 / point.u.value_or(1.0);
    }
    const Eigen::VectorXd weight = root_weight.cwiseAbs2();
    Centred out;
    out.centre = weight.dot(x) / weight.sum();
    Eigen::MatrixXd design(n, 2);
    design.col(0) = root_weight;
    design.col(1) = root_weight.cwiseProduct((x.array() - out.centre).matrix());
    const Eigen::VectorXd wy = root_weight.cwiseProduct(y);
    out.parameters = design.colPivHouseholderQr().solve(wy);
    out.inverse = (design.transpose() * design).inverse();
    out.squares = (wy - design * out.parameters).squaredNorm();
    out.total_squares = (y.array() - y.mean()).square().sum();
    return out;
}

void judge_fit(const std::vector<FitPoint>& points, const Centred& solved, LineFit& fit) {
    constexpr double doubtful = 0.05;
    fit.residual_sd = std::sqrt(solved.squares / fit.degrees);
    if (!fit.weighted) {
        fit.lack_of_fit_p = lack_of_fit_by_repeats(points, solved.squares);
        if (solved.total_squares > 0.0)
            fit.r_squared = 1.0 - solved.squares / solved.total_squares;
        return;
    }
    fit.chi_squared = solved.squares;
    fit.lack_of_fit_p = statistics::chi_squared_sf(solved.squares, fit.degrees);
    if (*fit.lack_of_fit_p < doubtful)
        fit.widened = fit.residual_sd;
}

} // namespace

Predicted LineFit::at(double x) const {
    const double variance =
        u_intercept * u_intercept + x * (2.0 * covariance + x * u_slope * u_slope);
    return {intercept + slope * x, std::sqrt(std::max(0.0, variance))};
}

double LineFit::correlation() const {
    return covariance / (u_intercept * u_slope);
}

double LineFit::coverage_factor(Confidence confidence) const {
    const double upper = 1.0 - confidence.each_tail();
    return weighted && widened == 1.0 ? statistics::normal_quantile(upper)
                                      : statistics::student_t_quantile(upper, degrees);
}

std::optional<LineFit> fit_line(const std::vector<FitPoint>& points) {
    if (!usable(points))
        return std::nullopt;
    const Centred solved = solve(points);
    LineFit fit;
    fit.weighted = points.front().u.has_value();
    fit.degrees = static_cast<double>(points.size()) - 2.0;
    judge_fit(points, solved, fit);
    const double scale = fit.weighted ? fit.widened : fit.residual_sd;
    const double variance_slope = scale * scale * solved.inverse(1, 1);
    fit.slope = solved.parameters(1);
    fit.intercept = solved.parameters(0) - fit.slope * solved.centre;
    fit.u_slope = std::sqrt(variance_slope);
    fit.u_intercept = std::sqrt(scale * scale * solved.inverse(0, 0) +
                                solved.centre * solved.centre * variance_slope);
    fit.covariance = -solved.centre * variance_slope;
    return fit;
}

} // namespace dropledger::statistics
