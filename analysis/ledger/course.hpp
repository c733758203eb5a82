// Which way travel went between two boots, and which travel lines no machine can have driven.
//
// The direction is the sign of last minus first position over the whole segment; of a segment that
// ends where it began, that of the commanded drops. While it runs, a segment that has gone two
// metres away from its beginning has shown its direction; `direction` at its end may find that it
// was the other one.
// Assumes: lines come in time order.
// Units: µm and µs. A line further from the one before than 50 m/s and an encoder's tremble of
// 10 mm can bring it is a jump: left out. Two such lines that agree with each other are a position
// that was set anew: a new segment begins.
#pragma once

#include "analysis/ledger/travel.hpp"

#include <cstdint>
#include <optional>

namespace dropledger::ledger {

constexpr std::int64_t setting_out_um = 2'000'000;

enum class Step : std::uint8_t { driven, jump, set_anew };

class Course {
public:
    // What this line is; after `set_anew` the caller ends the segment and calls begin_anew().
    [[nodiscard]] Step step(Knot knot);
    void drop(std::int64_t position_um);

    // A new segment; after a position that was set anew it begins with that.
    void begin();
    Knot begin_anew();

    // 1 or -1; 0: there is nothing to tell it by.
    [[nodiscard]] int direction() const;
    [[nodiscard]] bool has_set_out() const;
    [[nodiscard]] std::int64_t distance_um() const {
        return last_.position_um - first_.position_um;
    }
    [[nodiscard]] std::int64_t duration_us() const { return last_.time_us - first_.time_us; }

private:
    bool begun_ = false;
    Knot first_;
    Knot last_;
    std::optional<Knot> jumped_to_;
    std::optional<std::int64_t> first_drop_um_;
    std::int64_t last_drop_um_ = 0;
};

} // namespace dropledger::ledger
