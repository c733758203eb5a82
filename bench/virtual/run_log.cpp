#include "bench/virtual/run_log.hpp"

#include "analysis/base/dates.hpp"
#include "analysis/base/result.hpp"
#include "analysis/droplog/run_id.hpp"

#include <fmt/format.h>

namespace dropledger::bench_virtual {

namespace {

constexpr std::int64_t mark_every_us = 900000;
constexpr std::int64_t seal_every_us = 8000000;

// Of everything that makes the log what it is: two logs that differ are never taken for one run.
std::string identity_of(const Scenario& scenario, std::int64_t started_s) {
    return droplog::run_id_of(fmt::format("{}\n{}\n{}\n{}\n{}", scenario.text_sha256, scenario.name,
                                          scenario.seed, started_s,
                                          arm_body(default_order(scenario))));
}

class PerfectHost {
public:
    PerfectHost(const Scenario& scenario, const LogSinks& sinks, std::int64_t started_s)
        : scenario_(scenario), sinks_(sinks), started_s_(started_s), writer_(sinks.line),
          controller_(scenario) {
        if (!sinks.truth)
            controller_.forget_truths();
        if (sinks.pulse)
            controller_.keep_pulse_truths();
    }

    void run() {
        write_head();
        send("hello");
        send(arm_body(default_order(scenario_)));
        send("go");
        while (controller_.state() != State::idle) {
            bench_us_ = controller_.next_due_us();
            controller_.advance(now());
            take();
        }
        writer_.close("count", sinks_.key);
    }

private:
    [[nodiscard]] Now now() const { return {.bench_us = bench_us_, .host_us = 0}; }

    void write_head() {
        writer_.start(identity_of(scenario_, started_s_), rfc3339(started_s_));
        for (const Setting& setting : suggested_settings(scenario_)) {
            if (setting.channel < 0)
                writer_.set(setting.key, setting.value);
            else
                writer_.channel_set(static_cast<int>(setting.channel), setting.key, setting.value);
        }
        for (const auto& [key, value] : sinks_.settings)
            writer_.set(key, value);
        writer_.note("simulated: " + scenario_.name);
    }

    void send(const std::string& body) {
        const std::string line = droplog::encode(body);
        writer_.sent(line);
        controller_.receive(line, now());
        take();
    }

    void take() {
        bool any = false;
        controller_.hand_over([&](std::string_view line) {
            writer_.controller(line);
            any = true;
        });
        if (any)
            acknowledge(controller_.next_seq() - 1);
        if (sinks_.truth)
            for (const RunTruth& truth : controller_.take_truths())
                sinks_.truth(truth);
        if (sinks_.pulse)
            for (const PulseTruth& pulse : controller_.take_pulse_truths())
                sinks_.pulse(pulse);
    }

    void acknowledge(std::uint32_t seq) {
        if (!controller_.acknowledge(seq))
            throw BrokenInvariant("the virtual bench does not know a line that it sent");
        if (bench_us_ >= next_mark_us_) {
            writer_.at(seq, started_s_ * 1000000 + bench_us_);
            next_mark_us_ = bench_us_ + mark_every_us;
        }
        if (bench_us_ >= next_seal_us_) {
            writer_.seal();
            next_seal_us_ = bench_us_ + seal_every_us;
        }
    }

    const Scenario& scenario_;
    const LogSinks& sinks_;
    std::int64_t started_s_;
    droplog::Writer writer_;
    Controller controller_;
    std::int64_t bench_us_ = 0;
    std::int64_t next_mark_us_ = 0;
    std::int64_t next_seal_us_ = seal_every_us;
};

} // namespace

std::string arm_body(const Order& order) {
    return fmt::format("arm,{},{},{},{},{},{}", name_of(order.mode), order.spacing_um, order.count,
                       order.speed_um_s, order.channel_mask, order.drops);
}

void simulate_log(const Scenario& scenario, const LogSinks& sinks, std::int64_t started_s) {
    PerfectHost(scenario, sinks, started_s).run();
}

} // namespace dropledger::bench_virtual
