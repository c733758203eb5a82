// Numbers whose meaning the type carries: shares, confidence levels, times.
//
// Lengths and speeds are whole numbers with their unit in the name: length_um, speed_um_s.
#pragma once

#include <chrono>
#include <cstdint>
#include <stdexcept>

namespace dropledger {

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

[[nodiscard]] constexpr double mm_of(std::int64_t length_um) {
    return static_cast<double>(length_um) / 1000.0;
}

} // namespace dropledger
