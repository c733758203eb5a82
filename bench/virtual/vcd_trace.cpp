#include "bench/virtual/vcd_trace.hpp"

#include "bench/virtual/unit/physics.hpp"

#include <fmt/format.h>

#include <queue>
#include <vector>

namespace dropledger::bench_virtual {

namespace {

constexpr std::int64_t valve_open_us = 4000;

struct Toggle {
    std::int64_t at_us = 0;
    std::size_t signal = 0;
    bool high = false;

    bool operator>(const Toggle& other) const {
        return at_us != other.at_us ? at_us > other.at_us : signal > other.signal;
    }
};

constexpr std::size_t encoder_a = 0;
constexpr std::size_t encoder_b = 1;
constexpr std::size_t first_of_channels = 2;
constexpr std::size_t per_channel = 3;

std::size_t valve_of(std::size_t channel) {
    return first_of_channels + per_channel * channel;
}
std::size_t gate_of(std::size_t channel, std::size_t gate) {
    return valve_of(channel) + 1 + gate;
}

std::string name_of_signal(std::size_t signal) {
    if (signal < first_of_channels)
        return signal == encoder_a ? "ENC_A" : "ENC_B";
    const std::size_t channel = (signal - first_of_channels) / per_channel;
    const std::size_t which = (signal - first_of_channels) % per_channel;
    return which == 0 ? fmt::format("VALVE_{}", channel)
                      : fmt::format("GATE{}_{}", which - 1, channel);
}

std::string code_of(std::size_t signal) {
    constexpr std::size_t codes = 94; // the printable characters from ! to ~
    std::string code(1, static_cast<char>('!' + signal % codes));
    return signal < codes ? code : code + static_cast<char>('!' + signal / codes);
}

// Counts of the encoder as they pass: its two signals change in turn.
class EncoderTrace {
public:
    EncoderTrace(const Scenario& scenario, const Order& order)
        : travel_({.speed_um_s = order.speed_um_s,
                   .ripple = scenario.speed_ripple,
                   .period_s = scenario.ripple_period_s}),
          count_um_(static_cast<double>(scenario.encoder_um)) {
        find_next();
    }

    [[nodiscard]] std::int64_t next_us() const { return next_us_; }
    [[nodiscard]] Toggle take() {
        const bool of_a = count_ % 2 == 1;
        const Toggle toggle{.at_us = next_us_,
                            .signal = of_a ? encoder_a : encoder_b,
                            .high = of_a ? count_ % 4 == 1 : count_ % 4 == 2};
        find_next();
        return toggle;
    }

private:
    void find_next() {
        ++count_;
        next_us_ =
            static_cast<std::int64_t>(travel_.time_us(static_cast<double>(count_) * count_um_));
    }

    Travel travel_;
    double count_um_;
    std::int64_t count_ = 0;
    std::int64_t next_us_ = 0;
};

class Dump {
public:
    Dump(const Scenario& scenario, const TraceSinks& sinks)
        : scenario_(scenario), sinks_(sinks), order_(default_order(scenario)),
          encoder_(scenario, order_), levels_(valve_of(scenario.channels.size())) {}

    void write() {
        write_head();
        Physics physics(scenario_, order_);
        if (!sinks_.truth)
            physics.forget_truths();
        while (const Event* event = physics.peek()) {
            take(*event);
            write_until(event->send_us - scenario_.shuffle_us);
            last_us_ = std::max(last_us_, event->at_us);
            physics.pop();
            tell(physics.take_truths());
        }
        tell(physics.take_truths());
        write_until(last_us_);
        sinks_.text(fmt::format("#{}\n", last_us_));
    }

private:
    void tell(const std::vector<Truth>& truths) {
        if (sinks_.truth)
            for (const Truth& truth : truths)
                sinks_.truth(truth);
    }

    void write_head() {
        std::string text = fmt::format("$comment dropledger virtual bench, scenario {}; invented "
                                       "$end\n$timescale 1 us $end\n$scope module bench $end\n",
                                       code_safe(scenario_.name));
        for (std::size_t signal = 0; signal < levels_.size(); ++signal)
            text +=
                fmt::format("$var wire 1 {} {} $end\n", code_of(signal), name_of_signal(signal));
        text += "$upscope $end\n$enddefinitions $end\n#0\n$dumpvars\n";
        for (std::size_t signal = 0; signal < levels_.size(); ++signal)
            text += "0" + code_of(signal) + "\n";
        sinks_.text(text + "$end\n");
    }

    static std::string code_safe(std::string text) {
        std::replace(text.begin(), text.end(), '$', '_');
        return text;
    }

    void take(const Event& event) {
        const auto channel = static_cast<std::size_t>(std::max<std::int16_t>(event.channel, 0));
        if (event.kind == EventKind::drop)
            add(valve_of(channel), event.at_us, valve_open_us);
        else if (event.kind == EventKind::pulse)
            add(gate_of(channel, event.gate), event.at_us, event.width_us);
    }

    void add(std::size_t signal, std::int64_t at_us, std::int64_t for_us) {
        ahead_.push({at_us, signal, true});
        ahead_.push({at_us + for_us, signal, false});
    }

    void write_until(std::int64_t at_us) {
        for (;;) {
            const bool counts = ahead_.empty() || encoder_.next_us() <= ahead_.top().at_us;
            const std::int64_t next_us = counts ? encoder_.next_us() : ahead_.top().at_us;
            if (next_us > at_us)
                return;
            if (counts) {
                show(encoder_.take());
            } else {
                show(ahead_.top());
                ahead_.pop();
            }
        }
    }

    void show(const Toggle& toggle) {
        if (levels_[toggle.signal] == toggle.high)
            return;
        levels_[toggle.signal] = toggle.high;
        if (toggle.at_us != shown_us_)
            sinks_.text(fmt::format("#{}\n", toggle.at_us));
        shown_us_ = toggle.at_us;
        sinks_.text(fmt::format("{}{}\n", toggle.high ? 1 : 0, code_of(toggle.signal)));
    }

    const Scenario& scenario_;
    const TraceSinks& sinks_;
    Order order_;
    EncoderTrace encoder_;
    std::vector<bool> levels_;
    std::priority_queue<Toggle, std::vector<Toggle>, std::greater<>> ahead_;
    std::int64_t shown_us_ = 0;
    std::int64_t last_us_ = 0;
};

} // namespace

void trace_vcd(const Scenario& scenario, const TraceSinks& sinks) {
    Dump(scenario, sinks).write();
}

std::string vcd_wiring(const Scenario& scenario) {
    std::string text = fmt::format(
        "# Wiring of the virtual bench \"{}\" (invented), for dropledger capture.\n\n"
        "[travel]\na = \"ENC_A\"\nb = \"ENC_B\"\nmm_per_count = {:g}\n",
        scenario.name, static_cast<double>(scenario.encoder_um) / 1000.0);
    for (std::size_t channel = 0; channel < scenario.channels.size(); ++channel) {
        text += fmt::format("\n[[channel]]\nchannel = {}\n", channel);
        if (scenario.mode != Mode::line)
            text += fmt::format("command = \"VALVE_{}\"\n", channel);
        for (std::size_t gate = 0; gate < 2; ++gate)
            if (scenario.channels[channel].gates.at(gate))
                text += fmt::format("gate{0} = \"GATE{0}_{1}\"\ngate{0}_dark = \"high\"\n", gate,
                                    channel);
    }
    return text;
}

} // namespace dropledger::bench_virtual
