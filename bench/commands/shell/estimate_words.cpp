#include "bench/commands/shell/estimate_words.hpp"

#include <fmt/format.h>

namespace dropledger::cli {

std::string in_percent(const statistics::Estimate& estimate) {
    if (!estimate.interval)
        return fmt::format("{:.2f} %", 100.0 * estimate.value);
    return fmt::format("{:.2f} % ({:.2f} to {:.2f} %)", 100.0 * estimate.value,
                       100.0 * estimate.interval->low, 100.0 * estimate.interval->high);
}

std::string in_words(const statistics::Estimate& estimate, int decimals) {
    if (!estimate.interval)
        return fmt::format("{:.{}f}", estimate.value, decimals);
    return fmt::format("{:.{}f} ({:.{}f} to {:.{}f})", estimate.value, decimals,
                       estimate.interval->low, decimals, estimate.interval->high, decimals);
}

} // namespace dropledger::cli
