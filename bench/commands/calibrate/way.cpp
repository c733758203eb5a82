#include "bench/commands/calibrate/way.hpp"

#include "bench/commands/shell/usage.hpp"

namespace dropledger::cli {

std::optional<int> channel_of(const WayOptions& options) {
    if (!options.channel)
        return std::nullopt;
    return static_cast<int>(*options.channel);
}

Status check_gate(std::int64_t gate) {
    if (gate != 0 && gate != 1)
        return usage("--gate", "no such gate", "0 or 1");
    return Done{};
}

} // namespace dropledger::cli
