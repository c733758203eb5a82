#include "tests/analysis/measures/wandering.hpp"

#include "analysis/measures/placement.hpp"
#include "analysis/statistics/basics/distributions.hpp"
#include "analysis/statistics/basics/moments.hpp"
#include "analysis/statistics/basics/quantile.hpp"
#include "analysis/statistics/shares/proportion.hpp"

#include <algorithm>
#include <cmath>
#include <random>

namespace dropledger::measures::coverage {

namespace {

constexpr double offset_um = 3'000.0;
constexpr double scatter_um = 8'000.0;
constexpr std::int64_t allowance_um = 15'000;
const Confidence ninety_five{0.95};

class Valve {
public:
    Valve(const Errors& errors, std::int64_t drops, std::uint64_t seed)
        : errors_(&errors), drops_(static_cast<double>(drops)), random_(seed) {
        constexpr int until_stationary = 150;
        for (int i = 0; i < until_stationary; ++i)
            next_wander();
    }

    bool missed() {
        if (errors_->miss <= 0.0)
            return false;
        constexpr double row = 5.0;
        const double begins = errors_->miss / (1.0 - errors_->miss) / row;
        in_row_ = uniform() < (in_row_ ? 1.0 - 1.0 / row : begins);
        return in_row_;
    }
    // In standard deviations.
    double error(std::int64_t drop) {
        next_wander();
        const double own = errors_->wander < 1.0 ? std::sqrt(1.0 - errors_->wander) * step() : 0.0;
        return std::sqrt(errors_->wander) * wander_ + own +
               errors_->drift * (static_cast<double>(drop) / drops_ - 0.5);
    }
    double normal() { return normal_(random_); }

private:
    double uniform() { return static_cast<double>(random_() >> 11U) * 0x1p-53; }
    double step() {
        switch (errors_->steps) {
        case Steps::normal:
            return normal();
        case Steps::exponential:
            return -std::log(1.0 - uniform()) - 1.0;
        case Steps::contaminated:
            return (uniform() < 0.1 ? 3.0 : 1.0) * normal() / std::sqrt(1.8);
        }
        return 0.0;
    }
    void next_wander() {
        const double memory = errors_->memory;
        wander_ = memory * wander_ + std::sqrt(1.0 - memory * memory) * step();
    }

    const Errors* errors_;
    double drops_;
    std::mt19937_64 random_;
    std::normal_distribution<double> normal_;
    double wander_ = 0.0;
    bool in_row_ = false;
};

struct Run {
    PlacementTally tally;
    std::vector<double> entries;
    std::vector<double> landings;
};

Run sow(const Errors& errors, std::int64_t drops, std::uint64_t seed) {
    Run run;
    Valve valve{errors, drops, seed};
    for (std::int64_t drop = 0; drop < drops; ++drop) {
        const double shared = valve.error(drop);
        if (valve.missed())
            continue;
        std::int64_t sum = 0;
        for (int i = 0; i < errors.seeds; ++i) {
            const double own = errors.seeds > 1 ? errors.seed_scatter * valve.normal() : 0.0;
            const auto error_um = std::llround(offset_um + scatter_um * (shared + own));
            run.tally.add_landing(error_um, 1);
            run.landings.push_back(static_cast<double>(error_um));
            sum += error_um;
        }
        const std::int64_t centroid = sum / errors.seeds;
        run.tally.add_entry(centroid, static_cast<std::uint32_t>(errors.seeds));
        run.entries.push_back(static_cast<double>(centroid));
    }
    return run;
}

using Estimates = std::map<std::string, std::optional<statistics::Estimate>>;

Estimates estimates(const Run& run) {
    const PlacementResult found = run.tally.result(allowance_um, 1, ninety_five);
    return {{"offset_mm", found.offset_mm},
            {"bias_mm", found.bias_mm},
            {"sd_mm", found.sd_mm},
            {"p95_abs_mm", found.p95_abs_mm},
            {"within_allowance", found.within_allowance}};
}

std::optional<double> order_width(std::vector<double> values, double share) {
    const auto ranks = statistics::quantile_ranks(std::ssize(values), Share{share}, ninety_five);
    if (!ranks)
        return std::nullopt;
    std::sort(values.begin(), values.end());
    return (values[static_cast<std::size_t>(ranks->high - 1)] -
            values[static_cast<std::size_t>(ranks->low - 1)]) /
           1000.0;
}

// Of a mean, by Student's t.
double mean_width(const statistics::Moments& moments) {
    const auto n = static_cast<double>(moments.count());
    return 2.0 * statistics::student_t_quantile(1.0 - ninety_five.each_tail(), n - 1.0) *
           *moments.sample_sd() / std::sqrt(n);
}

// Of a standard deviation, by chi-square.
statistics::Interval sd_interval(const statistics::Moments& moments) {
    const auto degrees = static_cast<double>(moments.count() - 1);
    const auto limit = [&](double probability) {
        return *moments.sample_sd() *
               std::sqrt(degrees / statistics::chi_squared_quantile(probability, degrees));
    };
    return {.low = limit(1.0 - ninety_five.each_tail()), .high = limit(ninety_five.each_tail())};
}

// Widths of the intervals for independent entries.
std::map<std::string, std::optional<double>> classical(const Run& run) {
    const auto moments = statistics::moments(run.entries);
    const auto sd = sd_interval(moments);
    std::vector<double> magnitudes;
    std::int64_t inside = 0;
    for (const double error : run.entries) {
        magnitudes.push_back(std::abs(error));
        inside += std::abs(error) <= static_cast<double>(allowance_um) ? 1 : 0;
    }
    const auto share = statistics::clopper_pearson(inside, std::ssize(magnitudes), ninety_five);
    return {{"offset_mm", order_width(run.landings, 0.5)},
            {"bias_mm", mean_width(moments) / 1000.0},
            {"sd_mm", (sd.high - sd.low) / 1000.0},
            {"p95_abs_mm", order_width(magnitudes, 0.95)},
            {"within_allowance", share.high - share.low}};
}

} // namespace

const std::vector<Errors>& error_scenarios() {
    static const std::vector<Errors> all{
        {.name = "independent"},
        {.name = "correlation 0.3", .memory = 0.3},
        {.name = "correlation 0.6", .memory = 0.6},
        {.name = "correlation 0.9", .memory = 0.9},
        {.name = "half of it 0.9", .memory = 0.9, .wander = 0.5},
        {.name = "skewed", .steps = Steps::exponential},
        {.name = "skewed, 0.6", .memory = 0.6, .steps = Steps::exponential},
        {.name = "heavy tails", .steps = Steps::contaminated},
        {.name = "heavy tails, 0.6", .memory = 0.6, .steps = Steps::contaminated},
        {.name = "0.6, rows of misses", .memory = 0.6, .miss = 0.05},
        {.name = "drift of 2 sd", .drift = 2.0},
        {.name = "portions of 4", .seeds = 4, .seed_scatter = 0.7},
        {.name = "portions of 4, 0.6", .memory = 0.6, .seeds = 4, .seed_scatter = 0.7}};
    return all;
}

std::map<std::string, Held> study(const Errors& errors, const ErrorStudy& how) {
    const Estimates truth = estimates(sow(errors, how.drops_for_truth, how.seed ^ 0x7275746874ULL));
    std::map<std::string, Held> result;
    for (int number = 0; number < how.runs; ++number) {
        const Run run =
            sow(errors, how.drops, how.seed * 1'000'003 + static_cast<std::uint64_t>(number));
        const auto usual = classical(run);
        for (const auto& [name, estimate] : estimates(run)) {
            Held& held = result[name];
            ++held.runs;
            if (!estimate || !estimate->interval)
                continue;
            const double value = truth.at(name)->value;
            const statistics::Interval& interval = *estimate->interval;
            ++held.defined;
            held.held += interval.low <= value && value <= interval.high ? 1 : 0;
            if (const auto width = usual.at(name); width && *width > 0.0)
                held.width += (interval.high - interval.low) / *width;
        }
    }
    return result;
}

} // namespace dropledger::measures::coverage
