#include "analysis/statistics/trends/line_fit.hpp"

#include "analysis/statistics/basics/distributions.hpp"

#include <Eigen/Dense>

#include <algorithm>
#include <cmath>
#include <map>
#include <utility>

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
    if (*fit.lack_of_fit_p < doubtful && points.size() < enough_for_offsets)
        fit.widened = fit.residual_sd;
}

// Intercept and slope at x = 0 with their covariance matrix.
struct AtZero {
    Eigen::Vector2d parameters;
    Eigen::Matrix2d covariance;
};

AtZero at_zero(const Centred& solved, double scale) {
    const double slope_variance = scale * scale * solved.inverse(1, 1);
    AtZero out;
    out.parameters << solved.parameters(0) - solved.parameters(1) * solved.centre,
        solved.parameters(1);
    const double covariance = -solved.centre * slope_variance;
    out.covariance << scale * scale * solved.inverse(0, 0) +
                          solved.centre * solved.centre * slope_variance,
        covariance, covariance, slope_variance;
    return out;
}

void set_line(const AtZero& line, LineFit& fit) {
    fit.intercept = line.parameters(0);
    fit.slope = line.parameters(1);
    fit.u_intercept = std::sqrt(line.covariance(0, 0));
    fit.u_slope = std::sqrt(line.covariance(1, 1));
    fit.covariance = line.covariance(0, 1);
}

struct WithOffsets {
    double log_likelihood = 0.0;
    double offsets_sd = 0.0;
    AtZero line;
};

WithOffsets with_offsets(std::vector<FitPoint> points, double offsets_sd, double prior) {
    double log_weights = 0.0;
    for (FitPoint& point : points) {
        point.u = std::hypot(*point.u, offsets_sd);
        log_weights -= std::log(*point.u);
    }
    const Centred solved = solve(points);
    return {.log_likelihood = std::log(prior) + log_weights +
                              0.5 * std::log(solved.inverse.determinant()) - 0.5 * solved.squares,
            .offsets_sd = offsets_sd,
            .line = at_zero(solved, 1.0)};
}

std::vector<WithOffsets> over_offsets(const std::vector<FitPoint>& points) {
    constexpr double prior_none = 0.2;
    constexpr int grid = 24;
    constexpr double least = 0.25;
    constexpr double log_step = 0.2;
    double mean_u = 0.0;
    for (const FitPoint& point : points)
        mean_u += *point.u / static_cast<double>(points.size());
    std::vector<WithOffsets> all{with_offsets(points, 0.0, prior_none)};
    for (int i = 0; i < grid; ++i)
        all.push_back(with_offsets(points, least * mean_u * std::exp(log_step * i),
                                   (1.0 - prior_none) / grid));
    return all;
}

// Puts what is known of line and offsets together into `fit`.
void integrate_offsets(const std::vector<FitPoint>& points, LineFit& fit) {
    const std::vector<WithOffsets> all = over_offsets(points);
    const auto best = std::max_element(all.begin(), all.end(), [](const auto& a, const auto& b) {
        return a.log_likelihood < b.log_likelihood;
    });
    std::vector<double> weights;
    double total = 0.0;
    for (const WithOffsets& one : all)
        total += weights.emplace_back(std::exp(one.log_likelihood - best->log_likelihood));
    Eigen::Vector2d mean = Eigen::Vector2d::Zero();
    double offsets_variance = 0.0;
    for (std::size_t i = 0; i < all.size(); ++i) {
        weights[i] /= total;
        mean += weights[i] * all[i].line.parameters;
        offsets_variance += weights[i] * all[i].offsets_sd * all[i].offsets_sd;
        fit.slope_parts.push_back({.weight = weights[i],
                                   .slope = all[i].line.parameters(1),
                                   .u = std::sqrt(all[i].line.covariance(1, 1))});
    }
    Eigen::Matrix2d covariance = Eigen::Matrix2d::Zero();
    for (std::size_t i = 0; i < all.size(); ++i) {
        const Eigen::Vector2d off = all[i].line.parameters - mean;
        covariance += weights[i] * (all[i].line.covariance + off * off.transpose());
    }
    fit.offsets_sd = std::sqrt(offsets_variance);
    fit.widened = std::sqrt(covariance(1, 1) / all.front().line.covariance(1, 1));
    set_line({.parameters = mean, .covariance = covariance}, fit);
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
    if (slope_parts.empty())
        return weighted && widened == 1.0 ? statistics::normal_quantile(upper)
                                          : statistics::student_t_quantile(upper, degrees);
    const auto outside = [&](double half) {
        double all = 0.0;
        for (const SlopePart& part : slope_parts)
            all += part.weight * (statistics::normal_sf((half - part.slope + slope) / part.u) +
                                  statistics::normal_sf((half + part.slope - slope) / part.u));
        return all;
    };
    double low = 0.0;
    double high = 2.0 * u_slope;
    while (outside(high) > 1.0 - confidence.level())
        high *= 2.0;
    constexpr int halvings = 50;
    for (int i = 0; i < halvings; ++i) {
        const double middle = 0.5 * (low + high);
        (outside(middle) > 1.0 - confidence.level() ? low : high) = middle;
    }
    return high / u_slope;
}

std::optional<LineFit> fit_line(const std::vector<FitPoint>& points) {
    if (!usable(points))
        return std::nullopt;
    const Centred solved = solve(points);
    LineFit fit;
    fit.weighted = points.front().u.has_value();
    fit.degrees = static_cast<double>(points.size()) - 2.0;
    judge_fit(points, solved, fit);
    set_line(at_zero(solved, fit.weighted ? fit.widened : fit.residual_sd), fit);
    if (fit.weighted && points.size() >= enough_for_offsets)
        integrate_offsets(points, fit);
    return fit;
}

} // namespace dropledger::statistics
