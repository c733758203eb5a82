#include "analysis/statistics/cusum.hpp"

#include "analysis/statistics/distributions.hpp"

#include <Eigen/Dense>

#include <algorithm>

namespace dropledger::statistics {

Cusum cusum(std::span<const double> values, const CusumSettings& settings) {
    Cusum out;
    CusumPoint now;
    for (const double value : values) {
        const double apart = value - settings.target;
        now.high = std::max(0.0, now.high + apart - settings.allowance);
        now.low = std::max(0.0, now.low - apart - settings.allowance);
        if (!out.first_signal && std::max(now.high, now.low) > settings.limit)
            out.first_signal = out.points.size();
        out.points.push_back(now);
    }
    return out;
}

double average_run_length(const RunLengthQuestion& question) {
    // The sum in steps of `width`; state 0 is the sum at 0, state i lies around i * width.
    constexpr Eigen::Index states = 201;
    const double width = 2.0 * question.limit / (2.0 * states - 1.0);
    const double drift = question.shift - question.allowance;
    Eigen::MatrixXd stay = Eigen::MatrixXd::Identity(states, states);
    for (Eigen::Index from = 0; from < states; ++from) {
        stay(from, 0) -= normal_cdf((0.5 - static_cast<double>(from)) * width - drift);
        for (Eigen::Index to = 1; to < states; ++to) {
            const double apart = static_cast<double>(to - from) * width - drift;
            stay(from, to) -= normal_cdf(apart + width / 2.0) - normal_cdf(apart - width / 2.0);
        }
    }
    const Eigen::VectorXd lengths = stay.partialPivLu().solve(Eigen::VectorXd::Ones(states));
    return lengths(0);
}

double average_run_length_two_sided(const RunLengthQuestion& question) {
    RunLengthQuestion other = question;
    other.shift = -question.shift;
    return 1.0 / (1.0 / average_run_length(question) + 1.0 / average_run_length(other));
}

} // namespace dropledger::statistics
