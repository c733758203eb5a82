// What the controller still holds of before a run: lines of an earlier run would be given up by the
// first `ack`, so they are looked at first.
//
// Assumes: the controller has lost nothing (LOST 0), so the older lines are without a hole; BACKLOG
// counts them, with or without the beat that says so.
#pragma once

#include "analysis/droplog/line.hpp"

#include <cstdint>
#include <optional>

namespace dropledger::recorder {

class Survey {
public:
    void begin(std::uint32_t own_first); // SEQ of the run's own first line
    void beat(const droplog::Record& beat);
    void seen(const droplog::Record& line); // own or older, in whatever order
    void gone();                            // the first older line asked for is not kept after all

    [[nodiscard]] bool done() const;                  // all older lines were seen, or one of a run
    [[nodiscard]] bool told() const { return told_; } // a beat has said how many are held
    [[nodiscard]] bool busy() const { return busy_; } // a run is on right now, or was a moment ago
    [[nodiscard]] bool holds_run() const { return holds_run_; }
    [[nodiscard]] std::uint32_t held() const { return held_; }   // older lines, as the beat says
    [[nodiscard]] std::optional<std::uint32_t> ask_from() const; // the first older one not seen

private:
    std::uint32_t own_first_ = 0;
    std::uint32_t next_ = 0; // older line to be seen next
    std::uint32_t held_ = 0;
    bool told_ = false;
    bool holds_run_ = false;
    bool busy_ = false;
};

} // namespace dropledger::recorder
