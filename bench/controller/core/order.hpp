// What `arm` asks for, and what this bench can do of it: section 4.4.
#pragma once

#include "bench/controller/core/command.hpp"
#include "bench/controller/core/setup.hpp"

namespace dropledger {
namespace controller {

enum class Mode : uint8_t { single, portion, line, none };

struct Order {
    Mode mode = Mode::none; // none: a mode that this controller does not have
    int64_t spacing_um = 0;
    int64_t count = 0;
    int64_t speed_um_s = 0;
    uint32_t channel_mask = 0;
    int64_t drops = 0; // 0: until halted
};

// False where a field is missing, too many or does not parse.
[[nodiscard]] bool read_order(const CommandReader& command, Order& order);
// Why the order cannot be carried out; Word::none where it can.
[[nodiscard]] Word reason_against(const Order& order, const Setup& setup);
[[nodiscard]] int64_t most_speed_um_s(const Setup& setup);

} // namespace controller
} // namespace dropledger
