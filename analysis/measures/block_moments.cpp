// Notation: z = value − origin; Z, Y = sums of z, z² over one block of L values; B = number of full
// blocks. A statistic θ(mean z, mean z²) with gradient (a, b) has influence a·z + b·z²; its block
// sums W = a·Z + b·Y give se(θ)² = var(W) / (L²·B): batch means.
#include "analysis/measures/block_moments.hpp"

#include "analysis/statistics/basics/distributions.hpp"

#include <cmath>
#include <utility>

namespace dropledger::measures {

using statistics::Estimate;
using statistics::Interval;

void BlockMoments::close_block() {
    blocks_.push_back(std::exchange(block_, Block{}));
    in_block_ = 0;
    if (blocks_.size() == most_blocks)
        merge_blocks();
}

BlockMoments::Block BlockMoments::total() const {
    Block total = block_;
    for (const Block& block : blocks_) {
        total.sum += block.sum;
        total.squares += block.squares;
    }
    return total;
}

void BlockMoments::merge_blocks() {
    for (std::size_t i = 0; i < most_blocks / 2; ++i)
        blocks_[i] = {blocks_[2 * i].sum + blocks_[2 * i + 1].sum,
                      blocks_[2 * i].squares + blocks_[2 * i + 1].squares};
    blocks_.resize(most_blocks / 2);
    block_length_ *= 2;
}

double BlockMoments::mean_z() const {
    return static_cast<double>(total().sum) / static_cast<double>(count());
}

std::optional<double> BlockMoments::mean() const {
    if (count() == 0)
        return std::nullopt;
    return static_cast<double>(origin_) + mean_z();
}

std::optional<double> BlockMoments::sample_variance() const {
    if (count() < 2)
        return std::nullopt;
    // n·Σz² − (Σz)² is exact in integers; the one rounding comes last.
    const Block all = total();
    const Wide numerator = all.squares * count() - all.sum * all.sum;
    const auto n = static_cast<long double>(count());
    return static_cast<double>(static_cast<long double>(numerator) / (n * (n - 1)));
}

std::optional<double> BlockMoments::sample_sd() const {
    const auto variance = sample_variance();
    return variance ? std::optional{std::sqrt(*variance)} : std::nullopt;
}

long double BlockMoments::variance_of_sums(Gradient gradient) const {
    const auto influence = [&](const Block& block) {
        return static_cast<long double>(gradient.by_mean) * static_cast<long double>(block.sum) +
               static_cast<long double>(gradient.by_square) *
                   static_cast<long double>(block.squares);
    };
    const auto blocks = static_cast<long double>(blocks_.size());
    long double centre = 0.0L;
    for (const Block& block : blocks_)
        centre += influence(block) / blocks;
    long double squares = 0.0L;
    for (const Block& block : blocks_)
        squares += (influence(block) - centre) * (influence(block) - centre);
    return squares / (blocks - 1.0L);
}

std::optional<double> BlockMoments::standard_error(Gradient gradient) const {
    if (blocks_.size() < fewest_blocks)
        return std::nullopt;
    // var(W)/(L²·B) is the error of the full blocks' mean; the rest of the values counts as well.
    const auto per_value =
        static_cast<long double>(block_length_) * static_cast<long double>(count());
    return static_cast<double>(std::sqrt(variance_of_sums(gradient) / per_value));
}

double BlockMoments::t_quantile(Confidence confidence) const {
    return statistics::student_t_quantile(1.0 - confidence.each_tail(),
                                          static_cast<double>(blocks_.size() - 1));
}

std::optional<Estimate> BlockMoments::mean_estimate(Confidence confidence) const {
    if (count() == 0)
        return std::nullopt;
    Estimate estimate{.value = *mean(), .confidence = confidence, .method = "mean of one value"};
    if (const auto error = standard_error({1.0, 0.0})) {
        const double half = t_quantile(confidence) * *error;
        estimate.interval = Interval{estimate.value - half, estimate.value + half};
        estimate.method = "mean, Student's t on batch means";
    } else if (const auto sd = sample_sd()) {
        const auto n = static_cast<double>(count());
        const double half = statistics::student_t_quantile(1.0 - confidence.each_tail(), n - 1) *
                            *sd / std::sqrt(n);
        estimate.interval = Interval{estimate.value - half, estimate.value + half};
        estimate.method = "mean, Student's t";
    } else {
        estimate.no_interval = statistics::NoInterval::few_values;
    }
    return estimate;
}

std::optional<Estimate> BlockMoments::sd_estimate(Confidence confidence) const {
    const auto sd = sample_sd();
    if (!sd)
        return std::nullopt;
    Estimate estimate{*sd, std::nullopt, confidence, "sample standard deviation"};
    if (*sd == 0.0) {
        estimate.no_interval = statistics::NoInterval::all_equal;
        return estimate;
    }
    const double variance = *sd * *sd;
    // log s = ½ log(mean z² − (mean z)²)
    if (const auto error = standard_error({-mean_z() / variance, 0.5 / variance})) {
        const double factor = std::exp(t_quantile(confidence) * *error);
        estimate.interval = Interval{*sd / factor, *sd * factor};
        estimate.method = "sample standard deviation, batch means on the log scale";
        return estimate;
    }
    // Neighbouring differences of independent places correlate by −½: the variance of s² grows
    // by 1.5.
    constexpr double shared_landing = 1.5;
    const double degrees = std::fmax(1.0, static_cast<double>(count() - 1) / shared_landing);
    const double tail = confidence.each_tail();
    estimate.interval =
        Interval{*sd * std::sqrt(degrees / statistics::chi_squared_quantile(1.0 - tail, degrees)),
                 *sd * std::sqrt(degrees / statistics::chi_squared_quantile(tail, degrees))};
    estimate.method = "sample standard deviation, chi-square with degrees of freedom / 1.5";
    return estimate;
}

} // namespace dropledger::measures
