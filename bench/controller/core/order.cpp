#include "bench/controller/core/order.hpp"

namespace dropledger {
namespace controller {

namespace {

constexpr int64_t least_spacing_um = 1000;
constexpr int64_t most_spacing_um = 10000000;
constexpr int64_t least_speed_um_s = 10000;
constexpr int64_t most_seeds = 50;
constexpr int64_t most_drops = 1000000000;
constexpr int64_t least_us_between_drops = 40000; // a valve opens and shuts in between
constexpr uint8_t arm_fields = 7;

bool between(int64_t value, int64_t low, int64_t high) {
    return value >= low && value <= high;
}

Mode mode_of(const Field& field) {
    if (is(field, "single"))
        return Mode::single;
    if (is(field, "portion"))
        return Mode::portion;
    return is(field, "line") ? Mode::line : Mode::none;
}

int64_t lesser(int64_t a, int64_t b) {
    return a < b ? a : b;
}

// In line mode the seeds of a spacing, else those of a drop, are metered while it is travelled.
bool is_too_fast(const Order& order, const Setup& setup) {
    if (order.speed_um_s > most_speed_um_s(setup))
        return true;
    if (order.mode != Mode::line &&
        order.spacing_um * 1000000 < order.speed_um_s * least_us_between_drops)
        return true;
    const int64_t steps_a_spacing = order.count * setup.steps_per_seed;
    return steps_a_spacing * order.speed_um_s >
           static_cast<int64_t>(setup.most_meter_hz) * order.spacing_um;
}

} // namespace

int64_t most_speed_um_s(const Setup& setup) {
    return lesser(static_cast<int64_t>(setup.most_counts_s) * setup.nm_per_count / 1000,
                  static_cast<int64_t>(setup.most_drive_hz) * setup.nm_per_drive_step / 1000);
}

bool read_order(const CommandReader& command, Order& order) {
    if (command.fields() != arm_fields)
        return false;
    order.mode = mode_of(command.field(1));
    return parse(command.field(2), order.spacing_um) && parse(command.field(3), order.count) &&
           parse(command.field(4), order.speed_um_s) &&
           parse(command.field(5), order.channel_mask) && parse(command.field(6), order.drops);
}

Word reason_against(const Order& order, const Setup& setup) {
    if (!between(order.spacing_um, least_spacing_um, most_spacing_um))
        return Word::spacing;
    if (!between(order.count, 1, order.mode == Mode::single ? 1 : most_seeds))
        return Word::count;
    if (order.speed_um_s < least_speed_um_s || is_too_fast(order, setup))
        return Word::speed;
    if (order.channel_mask == 0 || (order.channel_mask >> setup.channels) != 0)
        return Word::channels;
    return between(order.drops, 0, most_drops) ? Word::none : Word::drops;
}

} // namespace controller
} // namespace dropledger
