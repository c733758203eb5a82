#include "analysis/batch/series/trend.hpp"

#include "analysis/measures/quantity.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <tuple>

namespace dropledger::batch {

namespace {

using statistics::Estimate;

BatchQuantity quantity_of(const std::vector<BatchFigures>& batches,
                          std::optional<Estimate> BatchStatistics::*value) {
    BatchQuantity quantity;
    std::vector<double> values;
    for (std::size_t i = 0; i < batches.size(); ++i) {
        const auto& estimate = batches[i].found.*value;
        if (!estimate) {
            quantity.left_out.push_back(fmt::format(
                "{}: not defined ({} in {} drops of {} units)", batches[i].id,
                batches[i].found.misses, batches[i].found.drops, batches[i].found.units));
            continue;
        }
        quantity.batches.push_back(i);
        quantity.values.push_back(*estimate);
        values.push_back(estimate->value);
    }
    quantity.chart = statistics::individuals_chart(values, {.least = 0.0, .most = 1.0});
    return quantity;
}

// A share that far below one unit in any batch is as good as none: values of 1e-9 and 1e-12 lie many
// sigma apart and differ in nothing that anyone could see.
constexpr double as_good_as_none = 1e-5;

// Leaves out the signals of values that, like the centre, are as good as none.
void drop_signals_of_nothing(BatchQuantity& quantity) {
    if (!quantity.chart || quantity.chart->centre > as_good_as_none)
        return;
    auto& signals = quantity.chart->signals;
    const auto is_nothing = [&](const statistics::ControlSignal& signal) {
        return std::all_of(quantity.values.begin() + static_cast<std::ptrdiff_t>(signal.first),
                           quantity.values.begin() + static_cast<std::ptrdiff_t>(signal.last) + 1,
                           [](const Estimate& one) { return one.value <= as_good_as_none; });
    };
    if (std::erase_if(signals, is_nothing) > 0)
        quantity.caution += " Signals among shares of at most 0.001 % are left out: they differ in "
                            "nothing that could be seen.";
}

// The first batch whose limit is not that of the batch before.
const BatchFigures* other_limit(const std::vector<BatchFigures>& batches) {
    for (std::size_t i = 1; i < batches.size(); ++i)
        if (batches[i].found.limit != batches[i - 1].found.limit)
            return &batches[i];
    return nullptr;
}

BatchQuantity outside_of(const std::vector<BatchFigures>& batches) {
    BatchQuantity quantity = quantity_of(batches, &BatchStatistics::share_outside);
    quantity.key = "share_outside";
    quantity.name = "Units beyond the profile's limit of misses, predicted";
    quantity.caution = "Most batches lie below the mean of such shares, which a few large ones "
                       "draw up: many in a row below the centre are no news here.";
    if (const BatchFigures* other = other_limit(batches)) {
        quantity.chart.reset();
        quantity.left_out.push_back(fmt::format(
            "no chart: from batch {} on another limit holds, shares beyond different limits can't "
            "be compared",
            other->id));
    }
    drop_signals_of_nothing(quantity);
    return quantity;
}

} // namespace

std::string_view BatchFigures::outcome_words() const {
    return outcome ? word_of(*outcome) : "not decided";
}

bool BatchTrend::any_signal() const {
    return std::any_of(quantities.begin(), quantities.end(), [](const BatchQuantity& quantity) {
        return quantity.chart && !quantity.chart->signals.empty();
    });
}

bool BatchTrend::any_chart() const {
    return std::any_of(quantities.begin(), quantities.end(),
                       [](const BatchQuantity& quantity) { return quantity.chart.has_value(); });
}

BatchFigures figures_of(const Batch& batch, std::optional<double> limit, Confidence confidence) {
    return {.id = batch.id,
            .opened = batch.opened,
            .outcome = batch.decision ? std::optional{batch.decision->outcome} : std::nullopt,
            .found = statistics_of(batch.runs, limit, confidence, batch.pooled_runs)};
}

Result<BatchTrend> batch_trend(std::vector<BatchFigures> batches) {
    std::sort(batches.begin(), batches.end(), [](const BatchFigures& a, const BatchFigures& b) {
        return std::tie(a.opened, a.id) < std::tie(b.opened, b.id);
    });
    for (std::size_t i = 1; i < batches.size(); ++i)
        if (batches[i].id == batches[i - 1].id && batches[i].opened == batches[i - 1].opened)
            return input_error("batch trend", fmt::format("batch {} is named twice", batches[i].id),
                               "name each batch once");
    BatchTrend trend;
    BatchQuantity misses = quantity_of(batches, &BatchStatistics::pooled_miss);
    misses.key = key_of(measures::Quantity::miss_share);
    misses.name = "Misses over all counted runs";
    trend.quantities = {std::move(misses), outside_of(batches)};
    trend.batches = std::move(batches);
    return trend;
}

} // namespace dropledger::batch
