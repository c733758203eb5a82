// The bench controller as a state machine: host lines and time in, controller lines out.
//
// Assumes: time never runs backwards. `bench_us` is the simulated clock (it may run faster than
// real time), `host_us` the host's own, by which its silence is judged.
// Units: µs since the first boot.
#pragma once

#include "analysis/droplog/line.hpp"
#include "analysis/droplog/reasons.hpp"
#include "bench/virtual/line_buffer.hpp"
#include "bench/virtual/unit/physics.hpp"
#include "bench/virtual/unit/scenario.hpp"

#include <cstdint>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

namespace dropledger::bench_virtual {

struct Now {
    std::int64_t bench_us = 0;
    std::int64_t host_us = 0;
};

enum class State : std::uint8_t {
    idle,
    armed,
    running,
    stopping, // no more drops; what is falling still falls, then `halted`
};

struct RunTruth {
    int run = 0; // 0, 1, … in this session
    Truth truth;
};

// How many seeds a pulse line really stands for; found again by boot and SEQ.
struct PulseTruth {
    std::string boot;
    std::uint32_t seq = 0;
    std::int16_t channel = 0;
    std::uint16_t gate = 0;
    std::uint32_t seeds = 0;
};

class Controller {
public:
    explicit Controller(const Scenario& scenario, Now now = {}); // boots: says hello

    void receive(std::string_view line, Now now); // one line from the host, without LF
    void advance(Now now);                        // everything due by now
    void reset(Now now);                          // power fails for a moment: all is forgotten
    void press_estop(Now now);
    void open_guard(Now now);
    void make_safe(); // button released, guard closed

    // Gives each line that was not sent yet to `take`, without LF.
    template <class Take> void hand_over(Take take) { buffer_.hand_over(std::move(take)); }
    [[nodiscard]] std::vector<std::string> take_lines();
    // What `ack,SEQ` asks for; false where no such line was numbered.
    [[nodiscard]] bool acknowledge(std::uint32_t seq) { return buffer_.acknowledge(seq); }
    [[nodiscard]] std::int64_t
    next_due_us(); // bench time of the next thing that advance() would do
    [[nodiscard]] State state() const { return state_; }
    [[nodiscard]] std::uint32_t backlog() const { return buffer_.backlog(); }
    [[nodiscard]] std::uint32_t lost() const { return buffer_.lost(); }
    [[nodiscard]] std::uint32_t next_seq() const { return buffer_.next_seq(); }
    [[nodiscard]] const std::string& boot() const { return boot_; }
    [[nodiscard]] std::optional<std::int64_t> first_go_us() const { return first_go_us_; }
    // A run was made, and the host has acknowledged everything up to its `halted`.
    [[nodiscard]] bool run_is_delivered() const;

    // Truth of what happened, for the file beside the log; never on the wire. Who does not ask for
    // it says so before the first run.
    void forget_truths() { keeps_truths_ = false; }
    [[nodiscard]] std::vector<RunTruth> take_truths();
    void keep_pulse_truths() { keeps_pulse_truths_ = true; }
    [[nodiscard]] std::vector<PulseTruth> take_pulse_truths();

private:
    using Fields = std::vector<std::string_view>;

    void start_up(Now now);
    void say_hello(std::int64_t at_us);
    void say_state(const char* name, std::string_view detail, std::int64_t at_us);
    void refuse(droplog::RefusedCode code, Now now);
    void carry_out(const Fields& fields, Now now);
    void arm(const Fields& fields, Now now);
    [[nodiscard]] std::optional<droplog::RefusedCode> reason_against(const Order& order) const;
    void go(Now now);
    void halt(Now now);
    void acknowledge_or_resend(const Fields& fields, Now now);
    void stop(droplog::HaltReason reason, std::int64_t at_us);
    void fault(int channel, std::string_view code, std::int64_t at_us);
    void emit(const Event& event);
    void emit_pulse(const Event& event);
    void run_on(std::int64_t bench_us);
    void end_run(std::int64_t at_us);
    void collect_truths();
    [[nodiscard]] std::int64_t scripted_due_us() const;
    [[nodiscard]] std::int64_t physics_due_us();
    [[nodiscard]] droplog::Stamp stamp(std::int64_t at_us) const;

    Scenario scenario_;
    LineBuffer buffer_;
    State state_ = State::idle;
    std::string boot_;
    std::uint64_t boots_ = 0;
    std::int64_t booted_us_ = 0;
    std::int64_t next_beat_us_ = 0;
    std::int64_t alive_host_us_ = 0;
    std::int64_t go_us_ = 0;
    std::optional<std::int64_t> first_go_us_;
    std::optional<std::uint32_t> halted_seq_;
    Order order_;
    std::unique_ptr<Physics> physics_;
    droplog::HaltReason stop_reason_ = droplog::HaltReason::count;
    std::size_t next_scripted_ = 0;
    int runs_ = 0;
    bool estop_ = false;
    bool guard_ = false;
    bool keeps_truths_ = true;
    bool keeps_pulse_truths_ = false;
    std::vector<RunTruth> truths_;
    std::vector<PulseTruth> pulse_truths_;
};

} // namespace dropledger::bench_virtual
