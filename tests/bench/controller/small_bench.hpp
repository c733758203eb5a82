// A bench around the controller's core in plain C++: a belt that does what the drive says, and seeds
// that fall past both gates a fixed time after a valve opens. Units: µs since boot, µm of travel.
//
// Assumes: advanced in steps of `step_us`; the same calls give the same lines.
#pragma once

#include "bench/controller/core/controller.hpp"

#include <array>
#include <cstdint>
#include <deque>
#include <string>
#include <string_view>
#include <vector>

namespace dropledger::controller {

struct Opening {
    std::uint32_t at_us = 0;
    std::uint8_t channel = 0;
    double position_um = 0.0; // of the belt
};

// 100 µm a count, leads of 80 to 94 ms.
[[nodiscard]] Setup a_setup();

class SmallBench {
public:
    static constexpr std::uint32_t step_us = 500;
    static constexpr std::uint32_t fall_us[2] = {30000, 60000}; // valve to gate
    static constexpr std::uint32_t dark_us = 1500;

    explicit SmallBench(std::uint16_t room = 5000, const char* boot = "1-TEST");

    void hear(std::string_view bytes);
    void send(const std::string& body); // with its check and LF
    void advance(std::uint32_t us);     // whole steps
    [[nodiscard]] std::string
    take(); // bytes for the host; no line is begun where none is asked for
    [[nodiscard]] std::vector<std::string> take_lines(); // without their LF

    // What the outside does.
    bool estop = false;
    bool guard = false;
    bool belt_slips = false; // the drive turns and the encoder does not
    bool encoder_skipped = false;
    double ripple = 0.0;       // of the belt's speed, share
    std::uint16_t blocked = 0; // beams that something else keeps dark

    // What the inside did.
    [[nodiscard]] const Controller& controller() const { return controller_; }
    [[nodiscard]] const std::vector<Opening>& openings() const { return openings_; }
    [[nodiscard]] std::uint32_t now_us() const { return now_us_; }
    [[nodiscard]] double position_um() const { return position_um_; }
    [[nodiscard]] std::uint32_t meter_steps() const { return meter_steps_; }

private:
    struct Edge {
        std::uint32_t at_us;
        std::uint8_t gate;
        bool dark;
    };

    void step();
    void move();
    void fall();
    void open(std::uint8_t channel);

    Setup setup_;
    std::vector<std::uint8_t> room_;
    Controller controller_;
    std::uint32_t now_us_ = 0;
    double position_um_ = 0.0;
    double meter_steps_made_ = 0.0;
    std::uint32_t meter_steps_ = 0;
    Counts counts_;
    std::uint8_t valves_ = 0;
    std::uint16_t dark_ = 0;
    std::deque<Edge> edges_;
    std::vector<Opening> openings_;
};

} // namespace dropledger::controller
