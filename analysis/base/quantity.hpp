// Numbers that carry their unit: a length cannot be added to a speed, nor passed where one is asked
// for.
//
// Units: in the type's name. Times are std::chrono::microseconds. Conversion to another unit
// happens in the functions at the end of this file and nowhere else.
#pragma once

#include <chrono>
#include <compare>
#include <cstdint>
#include <stdexcept>

namespace dropledger {

template <class Tag, class Rep> class Quantity {
public:
    constexpr Quantity() = default;
    constexpr explicit Quantity(Rep count) : count_(count) {}
    [[nodiscard]] constexpr Rep count() const { return count_; }
    friend constexpr auto operator<=>(Quantity, Quantity) = default;
    friend constexpr Quantity operator+(Quantity a, Quantity b) {
        return Quantity{a.count_ + b.count_};
    }
    friend constexpr Quantity operator-(Quantity a, Quantity b) {
        return Quantity{a.count_ - b.count_};
    }
    constexpr Quantity operator-() const { return Quantity{-count_}; }

private:
    Rep count_{};
};

using Micrometres = Quantity<struct MicrometresTag, std::int64_t>;
using MicrometresPerSecond = Quantity<struct MicrometresPerSecondTag, std::int64_t>;
using Microseconds = std::chrono::microseconds;

// A fraction, 0 … 1. Throws std::invalid_argument on anything else, NaN included.
class Share {
public:
    constexpr explicit Share(double value) : value_(value) {
        if (!(value >= 0.0 && value <= 1.0))
            throw std::invalid_argument("a share lies between 0 and 1");
    }
    [[nodiscard]] constexpr double value() const { return value_; }

private:
    double value_;
};

// A confidence level, 0 < c < 1: 0.95, never 95 and never the error rate.
class Confidence {
public:
    constexpr explicit Confidence(double level) : level_(level) {
        if (!(level > 0.0 && level < 1.0))
            throw std::invalid_argument("a confidence level lies between 0 and 1, both excluded");
    }
    [[nodiscard]] constexpr double level() const { return level_; }
    [[nodiscard]] constexpr double each_tail() const { return (1.0 - level_) / 2.0; }

private:
    double level_;
};

[[nodiscard]] constexpr double to_mm(Micrometres length) {
    return static_cast<double>(length.count()) / 1000.0;
}
[[nodiscard]] constexpr double to_metres(Micrometres length) {
    return static_cast<double>(length.count()) / 1e6;
}
[[nodiscard]] constexpr double to_mps(MicrometresPerSecond speed) {
    return static_cast<double>(speed.count()) / 1e6;
}

} // namespace dropledger
