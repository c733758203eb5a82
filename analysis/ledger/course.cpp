#include "analysis/ledger/course.hpp"

#include <cstdlib>

namespace dropledger::ledger {

namespace {

constexpr std::int64_t fastest_um_us = 50; // m/s
constexpr std::int64_t tremble_um = 10'000;

bool can_be_driven(Knot from, Knot to) {
    return std::abs(to.position_um - from.position_um) <=
           fastest_um_us * (to.time_us - from.time_us) + tremble_um;
}

int sign_of(std::int64_t value) {
    return value == 0 ? 0 : value > 0 ? 1 : -1;
}

} // namespace

Step Course::step(Knot knot) {
    if (!begun_) {
        begun_ = true;
        first_ = last_ = knot;
        return Step::driven;
    }
    if (can_be_driven(last_, knot)) {
        last_ = knot;
        jumped_to_.reset();
        return Step::driven;
    }
    const bool agrees = jumped_to_ && can_be_driven(*jumped_to_, knot);
    if (!agrees)
        jumped_to_ = knot;
    return agrees ? Step::set_anew : Step::jump;
}

void Course::drop(std::int64_t position_um) {
    if (!first_drop_um_)
        first_drop_um_ = position_um;
    last_drop_um_ = position_um;
}

void Course::begin() {
    *this = Course{};
}

Knot Course::begin_anew() {
    const Knot first = jumped_to_.value();
    begin();
    static_cast<void>(step(first));
    return first;
}

int Course::direction() const {
    if (begun_ && distance_um() != 0)
        return sign_of(distance_um());
    return first_drop_um_ ? sign_of(last_drop_um_ - *first_drop_um_) : 0;
}

bool Course::has_set_out() const {
    return begun_ && std::abs(distance_um()) >= setting_out_um;
}

} // namespace dropledger::ledger
