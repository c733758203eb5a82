#include "analysis/ledger/travel.hpp"

#include "analysis/base/wide.hpp"

#include <cstdlib>
#include <limits>

namespace dropledger::ledger {

namespace {

template <class Int> std::int64_t rounded_quotient(Int product, std::int64_t divisor) {
    const Int half = divisor / 2;
    return static_cast<std::int64_t>((product + (product < 0 ? -half : half)) / divisor);
}

bool is_small(std::int64_t value) {
    constexpr std::int64_t limit = std::numeric_limits<std::int32_t>::max();
    return value >= -limit && value <= limit;
}

} // namespace

std::int64_t multiply_divide(std::int64_t a, std::int64_t b, std::int64_t c) {
    if (is_small(a) && is_small(b))
        return rounded_quotient(a * b, c);
    return rounded_quotient(Wide{a} * b, c);
}

void Travel::add(std::int64_t time_us, std::int64_t position_um) {
    if (!knots_.empty() && knots_.back().time_us == time_us)
        knots_.back().position_um = position_um; // two references for one instant: the later holds
    else
        knots_.push_back({time_us, position_um});
}

std::optional<std::int64_t> Travel::newest_us() const {
    if (knots_.empty())
        return std::nullopt;
    return knots_.back().time_us;
}

std::size_t Travel::piece_holding(std::int64_t time_us) const {
    std::size_t piece = 0;
    while (piece + 2 < knots_.size() && knots_[piece + 1].time_us <= time_us)
        ++piece;
    return piece;
}

std::optional<std::int64_t> Travel::landing_um(std::int64_t time_us, std::int64_t fall_us) const {
    if (knots_.empty())
        return std::nullopt;
    if (knots_.size() == 1) {
        if (!nominal_speed_um_s_)
            return std::nullopt;
        return knots_[0].position_um + multiply_divide(*nominal_speed_um_s_,
                                                       time_us - knots_[0].time_us + fall_us,
                                                       1'000'000);
    }
    const std::size_t piece = piece_holding(time_us);
    const Knot& from = knots_[piece];
    const Knot& to = knots_[piece + 1];
    return from.position_um + multiply_divide(to.position_um - from.position_um,
                                              time_us - from.time_us + fall_us,
                                              to.time_us - from.time_us);
}

void Travel::forget_before(std::int64_t time_us) {
    while (knots_.size() > 2 && knots_[1].time_us <= time_us)
        knots_.pop_front();
}

void Travel::follow(const Knot& knot) {
    if (has_piece())
        forget_before(*newest_us());
    add(knot.time_us, knot.position_um);
}

} // namespace dropledger::ledger
