// The level of one wire without its glitches: a change counts once the new level has stood for a
// while, and then from where it began.
//
// Units: picoseconds. Assumes: `settled` is asked up to a time before `take` tells a change at it.
#pragma once

#include <cstdint>
#include <limits>
#include <optional>
#include <utility>

namespace dropledger::capture {

constexpr std::int64_t never_ps = std::numeric_limits<std::int64_t>::max();

class SteadyLevel {
public:
    struct Edge {
        std::int64_t at_ps = 0;
        bool high = false;
    };

    explicit SteadyLevel(std::int64_t glitch_ps) : glitch_ps_(glitch_ps) {}

    // The first level is no edge.
    void take(bool high, std::int64_t at_ps) {
        if (!level_) {
            level_ = high;
        } else if (high != *level_) {
            pending_ps_ = at_ps;
        } else if (pending_ps_) {
            pending_ps_.reset();
            ++glitches_;
        }
    }

    // The edge that has stood long enough at `now_ps`.
    [[nodiscard]] std::optional<Edge> settled(std::int64_t now_ps) {
        if (!pending_ps_ || now_ps - *pending_ps_ < glitch_ps_)
            return std::nullopt;
        level_ = !*level_;
        return Edge{.at_ps = *std::exchange(pending_ps_, std::nullopt), .high = *level_};
    }

    [[nodiscard]] std::int64_t due_ps() const {
        return pending_ps_ ? *pending_ps_ + glitch_ps_ : never_ps;
    }
    [[nodiscard]] std::optional<bool> level() const { return level_; }
    [[nodiscard]] std::uint64_t glitches() const { return glitches_; }

private:
    std::int64_t glitch_ps_;
    std::optional<bool> level_;
    std::optional<std::int64_t> pending_ps_;
    std::uint64_t glitches_ = 0;
};

} // namespace dropledger::capture
