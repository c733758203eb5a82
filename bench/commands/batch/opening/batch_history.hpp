// Which severity the next batch is inspected with, by the batches that are named or that a book knows.
#pragma once

#include "analysis/batch/series/history.hpp"

#include <optional>
#include <string>
#include <vector>

namespace dropledger::cli {

struct HistoryOptions {
    std::optional<std::string> severity;
    std::vector<std::string> files;  // in their order
    std::optional<std::string> book; // beside files: what must not be left out
    bool reduced_permitted = false;
};

struct History {
    batch::SeverityChoice severity;
    std::vector<batch::EarlierBatch> batches;
};

// Refused: sampling is discontinued; a batch named twice; with a book, one of its batches of this
// profile left out, in another order, or one that it does not know.
[[nodiscard]] Result<History> severity_of(const HistoryOptions& options,
                                          const std::string& profile);

} // namespace dropledger::cli
