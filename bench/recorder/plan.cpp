#include "bench/recorder/plan.hpp"

#include "analysis/droplog/line.hpp"

#include <fmt/format.h>

namespace dropledger::recorder {

std::string arm_line(const ArmOrder& order) {
    return droplog::encode(fmt::format("arm,{},{},{},{},{},{}", order.mode, order.spacing_um,
                                       order.count, order.speed_um_s, order.channel_mask,
                                       order.drops));
}

} // namespace dropledger::recorder
