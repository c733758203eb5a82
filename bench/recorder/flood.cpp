#include "bench/recorder/flood.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <utility>

namespace dropledger::recorder {

namespace {

constexpr std::uint64_t most_at_once = 2000;
constexpr Microseconds one_more_every{5'000}; // 200 a second

} // namespace

bool Flood::admits(std::string_view piece, Microseconds now) {
    if (!std::exchange(begun_, true)) {
        filled_at_ = now;
        room_ = most_at_once;
    }
    const auto earned = (now - filled_at_) / one_more_every;
    filled_at_ += earned * one_more_every;
    room_ = std::min(most_at_once, room_ + static_cast<std::uint64_t>(earned));
    if (room_ > 0) {
        --room_;
        return true;
    }
    ++pieces_;
    bytes_ += piece.size();
    return false;
}

std::optional<std::string> Flood::take_remark() {
    if (pieces_ == 0)
        return std::nullopt;
    return fmt::format("{} more damaged pieces, {} bytes, came too fast to be kept",
                       std::exchange(pieces_, 0U), std::exchange(bytes_, 0U));
}

} // namespace dropledger::recorder
