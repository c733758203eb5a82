#include "calibration/classifier/classifier.hpp"

#include "analysis/statistics/basics/distributions.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <random>

namespace dropledger::calibration {

namespace {

constexpr double least_sd = 0.02;

struct Point {
    double width = 0.0; // ln µs
    double depth = 0.0; // ln attenuation
};

std::optional<Point> point_of(const ledger::PulseShape& shape) {
    if (shape.width_us == 0 || shape.depth_milli == 0)
        return std::nullopt;
    constexpr double deepest = 0.9995; // a depth of 1000 says "all of it, to the last digit"
    const double depth = std::min(deepest, static_cast<double>(shape.depth_milli) / 1000.0);
    return Point{std::log(static_cast<double>(shape.width_us)), std::log(-std::log1p(-depth))};
}

double square(double x) {
    return x * x;
}

double log_density(const PulseClass& one, const Point& point) {
    constexpr double log_two_pi = 1.8378770664093453;
    return std::log(one.weight) - log_two_pi - std::log(one.width_sd * one.depth_sd) -
           0.5 * (square((point.width - one.width_mean) / one.width_sd) +
                  square((point.depth - one.depth_mean) / one.depth_sd));
}

double median(std::vector<double> values) {
    const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
    std::nth_element(values.begin(), middle, values.end());
    return *middle;
}

double spread(std::vector<double> values, double centre) {
    for (double& value : values)
        value = std::fabs(value - centre);
    constexpr double of_normal = 1.4826;
    return std::max(least_sd, of_normal * median(std::move(values)));
}

// Sums over points, weighted by how likely a class made them.
struct Sums {
    double n = 0.0;
    double width = 0.0;
    double depth = 0.0;
};

class Mixture {
public:
    Mixture(const std::vector<Point>& points, std::vector<PulseClass> classes)
        : points_(&points), classes_(std::move(classes)),
          shares_(classes_.size(), std::vector<double>(points.size())) {}

    void fit() {
        constexpr int most_rounds = 300;
        constexpr double settled = 1e-7;
        double before = expect();
        for (int round = 0; round < most_rounds; ++round) {
            maximise();
            log_likelihood_ = expect();
            if (log_likelihood_ - before < settled * std::fabs(before))
                return;
            before = log_likelihood_;
        }
    }

    [[nodiscard]] double log_likelihood() const { return log_likelihood_; }
    [[nodiscard]] const std::vector<PulseClass>& classes() const { return classes_; }
    [[nodiscard]] double bic() const {
        double parameters = -1.0; // weights sum to 1
        for (const PulseClass& one : classes_)
            parameters += one.seeds <= 1 ? 5.0 : 3.0;
        return parameters * std::log(static_cast<double>(points_->size())) - 2.0 * log_likelihood_;
    }
    // Dust is shorter or shallower than a seed and seeds are most; a fit that says otherwise has
    // its classes mixed up.
    [[nodiscard]] bool makes_sense() const {
        const PulseClass& single = classes_.front();
        return std::isfinite(log_likelihood_) &&
               std::all_of(classes_.begin(), classes_.end(), [&](const PulseClass& one) {
                   if (one.seeds == 0)
                       return (one.depth_mean < single.depth_mean - 2.0 * single.depth_sd ||
                               one.width_mean < single.width_mean - 2.0 * single.width_sd) &&
                              one.width_mean < single.width_mean && one.weight < single.weight;
                   return one.seeds == 1 || one.width_mean > single.width_mean - least_sd;
               });
    }

private:
    double expect() {
        double total = 0.0;
        std::vector<double> logs(classes_.size());
        for (std::size_t i = 0; i < points_->size(); ++i) {
            for (std::size_t c = 0; c < classes_.size(); ++c)
                logs[c] = log_density(classes_[c], (*points_)[i]);
            const double greatest = *std::max_element(logs.begin(), logs.end());
            double sum = 0.0;
            for (const double one : logs)
                sum += std::exp(one - greatest);
            for (std::size_t c = 0; c < classes_.size(); ++c)
                shares_[c][i] = std::exp(logs[c] - greatest) / sum;
            total += greatest + std::log(sum);
        }
        log_likelihood_ = total;
        return total;
    }

    void maximise() {
        for (std::size_t c = 0; c < classes_.size(); ++c)
            own_parameters(c);
        shared_depth();
    }

    // Weight and width of each class; depth too where it is dust.
    void own_parameters(std::size_t c) {
        PulseClass& one = classes_[c];
        Sums sums;
        for (std::size_t i = 0; i < points_->size(); ++i) {
            sums.n += shares_[c][i];
            sums.width += shares_[c][i] * (*points_)[i].width;
            sums.depth += shares_[c][i] * (*points_)[i].depth;
        }
        constexpr double nearly_none = 1e-3;
        one.weight = std::max(sums.n, nearly_none) / static_cast<double>(points_->size());
        if (sums.n < 1.0)
            return;
        one.width_mean = sums.width / sums.n;
        if (one.seeds == 0)
            one.depth_mean = sums.depth / sums.n;
        double width = 0.0;
        double depth = 0.0;
        for (std::size_t i = 0; i < points_->size(); ++i) {
            width += shares_[c][i] * square((*points_)[i].width - one.width_mean);
            depth += shares_[c][i] * square((*points_)[i].depth - one.depth_mean);
        }
        one.width_sd = std::max(least_sd, std::sqrt(width / sums.n));
        if (one.seeds == 0)
            one.depth_sd = std::max(least_sd, std::sqrt(depth / sums.n));
    }

    // Seeds share one mean attenuation and one variance: k of them have k times the mean and 1/k of
    // the variance.
    void shared_depth() {
        double n = 0.0;
        double weight = 0.0;
        double sum = 0.0;
        for (std::size_t c = 0; c < classes_.size(); ++c)
            each_seed_point(c, [&](double share, double depth, double k) {
                n += share;
                weight += k * share;
                sum += k * share * depth;
            });
        if (n < 1.0)
            return;
        const double mean = sum / weight;
        double squares = 0.0;
        for (std::size_t c = 0; c < classes_.size(); ++c)
            each_seed_point(c, [&](double share, double depth, double k) {
                squares += k * share * square(depth - mean);
            });
        const double sd = std::max(least_sd, std::sqrt(squares / n));
        for (PulseClass& one : classes_)
            if (one.seeds > 0) {
                one.depth_mean = mean + std::log(static_cast<double>(one.seeds));
                one.depth_sd = sd / std::sqrt(static_cast<double>(one.seeds));
            }
    }

    template <class Visit> void each_seed_point(std::size_t c, Visit visit) const {
        if (classes_[c].seeds == 0)
            return;
        const auto k = static_cast<double>(classes_[c].seeds);
        for (std::size_t i = 0; i < points_->size(); ++i)
            visit(shares_[c][i], (*points_)[i].depth - std::log(k), k);
    }

    const std::vector<Point>* points_;
    std::vector<PulseClass> classes_;
    std::vector<std::vector<double>> shares_; // [class][point]
    double log_likelihood_ = 0.0;
};

// Where a search begins: seeds about the middle of the pulses, dust somewhere below.
std::vector<PulseClass> start(const std::vector<std::uint32_t>& kinds,
                              const std::vector<Point>& points, std::mt19937_64& random) {
    const auto unit = [&] { return static_cast<double>(random() >> 11U) * 0x1.0p-53; };
    std::vector<double> widths;
    std::vector<double> depths;
    for (const Point& point : points) {
        widths.push_back(point.width);
        depths.push_back(point.depth);
    }
    const double width = median(widths);
    const double depth = median(depths);
    const double width_sd = spread(widths, width) * (0.7 + 0.6 * unit());
    const double depth_sd = spread(depths, depth) * (0.7 + 0.6 * unit());
    std::vector<PulseClass> out;
    for (const std::uint32_t seeds : kinds) {
        PulseClass one{.seeds = seeds,
                       .weight =
                           seeds == 1 ? 1.0 - 0.05 * static_cast<double>(kinds.size() - 1) : 0.05};
        const double k = std::max(1.0, static_cast<double>(seeds));
        one.width_mean = width + (seeds == 0 ? -0.7 - 2.0 * unit() : 0.6 * std::log(k));
        one.depth_mean = depth + (seeds == 0 ? 0.3 - 3.0 * unit() : std::log(k));
        one.width_sd = seeds == 1 ? width_sd : 0.3;
        one.depth_sd = seeds == 0 ? 0.4 : depth_sd / std::sqrt(k);
        out.push_back(one);
    }
    return out;
}

std::string name_of(const std::vector<std::uint32_t>& kinds) {
    std::string name;
    for (const std::uint32_t seeds : kinds)
        name += (name.empty() ? "" : " + ") +
                (seeds == 0 ? std::string("dust") : fmt::format("{}", seeds));
    return name;
}

// Least wrong decisions between dust and single seeds, by depth alone.
void recommend_threshold(ClassifierFit& fit) {
    const PulseClass& single = *fit.classifier.of(1);
    const PulseClass* const dust = fit.classifier.of(0);
    const auto below = [](const PulseClass& one, double milli) {
        const double depth = std::log(-std::log1p(-milli / 1000.0));
        return statistics::normal_cdf((depth - one.depth_mean) / one.depth_sd);
    };
    double least_wrong = 2.0;
    for (std::uint32_t milli = 1; milli < 999; ++milli) {
        const double lost = below(single, milli);
        const double passed = dust == nullptr ? 0.0 : 1.0 - below(*dust, milli);
        constexpr double spared =
            1e-3; // without dust: a threshold that costs one seed in a thousand
        const double wrong = dust == nullptr ? std::fabs(lost - spared)
                                             : dust->weight * passed + single.weight * lost;
        if (wrong < least_wrong) {
            least_wrong = wrong;
            fit.threshold_milli = milli;
            fit.dust_passed = passed;
            fit.seeds_lost = lost;
        }
    }
}

std::vector<Point> points_of(const std::vector<ledger::PulseShape>& pulses) {
    constexpr std::size_t enough = 20'000;
    const std::size_t step = pulses.size() / enough + 1;
    std::vector<Point> points;
    for (std::size_t i = 0; i < pulses.size(); i += step)
        if (const auto point = point_of(pulses[i]))
            points.push_back(*point);
    return points;
}

// The best of some starts with these classes; none where every one mixed its classes up.
std::optional<ClassifierFit> best_of(const std::vector<std::uint32_t>& kinds,
                                     const std::vector<Point>& points, std::mt19937_64& random) {
    const int starts = kinds.size() == 1 ? 1 : 4;
    std::optional<ClassifierFit> best;
    for (int i = 0; i < starts; ++i) {
        Mixture mixture(points, start(kinds, points, random));
        mixture.fit();
        if (mixture.makes_sense() && (!best || mixture.bic() < best->bic))
            best = ClassifierFit{.classifier = {mixture.classes()},
                                 .log_likelihood = mixture.log_likelihood(),
                                 .bic = mixture.bic(),
                                 .tried = {},
                                 .counts = {}};
    }
    return best;
}

std::optional<ClassifierFit> search(const std::vector<Point>& points, std::uint64_t seed) {
    std::mt19937_64 random(seed);
    std::optional<ClassifierFit> best;
    std::vector<std::pair<std::string, double>> tried;
    for (const std::vector<std::uint32_t>& kinds : std::vector<std::vector<std::uint32_t>>{
             {1}, {1, 0}, {1, 2}, {1, 2, 0}, {1, 2, 3}, {1, 2, 3, 0}}) {
        auto found = best_of(kinds, points, random);
        if (!found)
            continue;
        tried.emplace_back(name_of(kinds), found->bic);
        if (!best || found->bic < best->bic)
            best = std::move(found);
    }
    std::sort(tried.begin(), tried.end(),
              [](const auto& a, const auto& b) { return a.second < b.second; });
    if (best)
        best->tried = std::move(tried);
    return best;
}

} // namespace

Posterior Classifier::classify(const ledger::PulseShape& shape) const {
    const auto point = point_of(shape);
    if (!point || classes.empty())
        return {};
    double total = 0.0;
    double best = -1.0;
    Posterior out;
    double greatest = log_density(classes.front(), *point);
    for (const PulseClass& one : classes)
        greatest = std::max(greatest, log_density(one, *point));
    for (const PulseClass& one : classes) {
        const double share = std::exp(log_density(one, *point) - greatest);
        total += share;
        if (share > best) {
            best = share;
            out.seeds = one.seeds;
        }
    }
    out.probability = best / total;
    return out;
}

const PulseClass* Classifier::of(std::uint32_t seeds) const {
    const auto found = std::find_if(classes.begin(), classes.end(),
                                    [&](const PulseClass& one) { return one.seeds == seeds; });
    return found == classes.end() ? nullptr : &*found;
}

Result<ClassifierFit> fit_classifier(const std::vector<ledger::PulseShape>& pulses,
                                     std::uint64_t seed) {
    constexpr std::size_t fewest = 50;
    const std::vector<Point> points = points_of(pulses);
    if (points.size() < fewest)
        return input_error("classifier",
                           fmt::format("{} pulses with a width and a depth", points.size()),
                           fmt::format("at least {} are needed, better some thousand", fewest));
    auto best = search(points, seed);
    if (!best)
        return input_error("classifier", "no mixture fits these pulses",
                           "run seeds of one lot, one by one, and calibrate again");
    best->pulses = static_cast<std::int64_t>(pulses.size());
    best->counts.assign(4, 0);
    for (const ledger::PulseShape& shape : pulses)
        ++best->counts.at(best->classifier.classify(shape).seeds);
    recommend_threshold(*best);
    return *std::move(best);
}

} // namespace dropledger::calibration
