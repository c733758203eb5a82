// Batches in order of their opening: do their results still come from one level?
//
// Two individuals charts: the misses over all counted runs of a batch, and the predicted share of
// its units beyond the profile's limit. Batches where one of them is not defined are left out of
// that chart and named. A signal among predicted shares of at most 1e-5 is none.
// Assumes: batches made alike; times of opening are RFC 3339 in UTC, which sort as text.
// Undefined when: fewer than two batches have the quantity; or, for the share beyond the limit, the
// batches were judged by different limits: no chart.
#pragma once

#include "analysis/batch/chain/batch.hpp"
#include "analysis/batch/runs/statistics.hpp"
#include "analysis/statistics/trends/control_chart.hpp"

#include <cstddef>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace dropledger::batch {

struct BatchFigures {
    std::string id;
    std::string opened;
    std::optional<LotOutcome> outcome; // none: not decided
    BatchStatistics found;

    [[nodiscard]] std::string_view outcome_words() const;
};

// `limit`: the profile's for the share of misses, where it has one.
[[nodiscard]] BatchFigures figures_of(const Batch& batch, std::optional<double> limit,
                                      Confidence confidence);

struct BatchQuantity {
    std::string key;                  // miss_share, share_outside
    std::string name;                 // in words
    std::vector<std::size_t> batches; // the charted ones, as indices into BatchTrend::batches
    std::vector<statistics::Estimate> values;
    std::vector<std::string> left_out; // sentences
    std::string caution;               // what a reader must know of this chart; may be empty
    std::optional<statistics::ControlChart> chart;
};

struct BatchTrend {
    std::vector<BatchFigures> batches; // in order of opening
    std::vector<BatchQuantity> quantities;

    [[nodiscard]] bool any_signal() const;
    [[nodiscard]] bool any_chart() const;
};

// An input error where one batch stands there twice.
[[nodiscard]] Result<BatchTrend> batch_trend(std::vector<BatchFigures> batches);

} // namespace dropledger::batch
