#include "bench/virtual/pty_bench.hpp"

#include "bench/virtual/pty_port.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <chrono>
#include <limits>
#include <thread>

namespace dropledger::bench_virtual {

namespace {

using std::chrono::milliseconds;

constexpr milliseconds short_wait{5};
constexpr milliseconds no_wait{0};
constexpr std::size_t most_pending = 32768;  // bytes on their way out
constexpr std::uint32_t window_lines = 2000; // unacknowledged lines with pace 0
constexpr int jumps_at_once = 64;            // then the wire gets its turn
constexpr std::size_t longest_host_line = 4096;

// Instants still to come, in bench µs after the first `go`.
class Instants {
public:
    explicit Instants(std::vector<double> seconds) : seconds_(std::move(seconds)) {
        std::sort(seconds_.begin(), seconds_.end());
    }
    [[nodiscard]] bool due(std::int64_t running_us) {
        if (next_ >= seconds_.size() || seconds_.at(next_) * 1e6 > static_cast<double>(running_us))
            return false;
        ++next_;
        return true;
    }

private:
    std::vector<double> seconds_;
    std::size_t next_ = 0;
};

class Bench {
public:
    Bench(const Scenario& scenario, const BenchOptions& options, const BenchHooks& hooks)
        : scenario_(scenario), options_(options), hooks_(hooks),
          out_noise_(options.faults.noise, Random(options.faults.seed, 1)),
          in_noise_(options.faults.noise, Random(options.faults.seed, 2)),
          stalls_(options.faults.stall_at_s), resets_(options.faults.reset_at_s),
          pulls_(options.faults.pull_at_s), estops_(options.faults.estop_at_s),
          guards_(options.faults.guard_at_s) {
        if (options.link)
            link_.emplace(*options.link);
    }

    Status serve();

private:
    Status plug_in();
    Status step();
    Status line_faults();
    Status pull();
    void meet_host(const PortState& port);
    void hear();
    void advance_clock();
    void jump_ahead();
    void speak();
    void pass_truths();
    void boot();
    [[nodiscard]] bool over() const;
    [[nodiscard]] std::int64_t wall_us() const;
    [[nodiscard]] Now now() const { return {.bench_us = bench_us_, .host_us = wall_us()}; }
    [[nodiscard]] bool running() const;
    [[nodiscard]] bool keeps_up() const; // the host, with pace 0
    [[nodiscard]] bool stalled() const { return wall_us() < stalled_until_us_; }
    void say(const std::string& text) const { hooks_.say(text); }

    const Scenario& scenario_;
    const BenchOptions& options_;
    const BenchHooks& hooks_;
    std::optional<PtyPort> port_;
    std::optional<PortLink> link_;
    std::optional<Controller> controller_;
    LineNoise out_noise_;
    LineNoise in_noise_;
    Instants stalls_;
    Instants resets_;
    Instants pulls_;
    Instants estops_;
    Instants guards_;
    std::chrono::steady_clock::time_point began_ = std::chrono::steady_clock::now();
    std::int64_t wall_before_us_ = 0;
    std::int64_t bench_us_ = 0;
    std::int64_t stalled_until_us_ = 0; // wall
    std::int64_t away_since_us_ = 0;    // wall
    bool host_there_ = false;
    std::string heard_;   // an unfinished line
    std::string pending_; // bytes not taken yet
};

std::int64_t Bench::wall_us() const {
    const auto since = std::chrono::steady_clock::now() - began_;
    return std::chrono::duration_cast<std::chrono::microseconds>(since).count();
}

bool Bench::running() const {
    return controller_ &&
           (controller_->state() == State::running || controller_->state() == State::stopping);
}

bool Bench::keeps_up() const {
    const auto half = static_cast<std::uint32_t>(scenario_.buffer_lines / 2);
    return controller_->backlog() < std::min(window_lines, half);
}

Status Bench::plug_in() {
    auto port = PtyPort::open();
    if (!port)
        return port.error();
    port_ = std::move(*port);
    return link_ ? link_->point_to(port_->path()) : Status(Done{});
}

void Bench::boot() {
    controller_.emplace(scenario_, now());
    if (options_.pulse_truths)
        controller_->keep_pulse_truths();
}

void Bench::meet_host(const PortState& port) {
    if (port.host_there == host_there_)
        return;
    host_there_ = port.host_there;
    say(host_there_ ? "the host has opened the port" : "the host has left the port");
    if (host_there_ && !controller_)
        boot();
    if (host_there_)
        return;
    away_since_us_ = wall_us();
    pending_.clear();
    heard_.clear();
    port_->forget_unread();
}

void Bench::hear() {
    heard_ += in_noise_.pass(port_->read());
    for (auto end = heard_.find('\n'); end != std::string::npos; end = heard_.find('\n')) {
        controller_->receive(std::string_view(heard_).substr(0, end), now());
        heard_.erase(0, end + 1);
    }
    if (heard_.size() > longest_host_line)
        heard_.clear();
}

// With pace 0: event after event, as long as the host keeps up.
void Bench::jump_ahead() {
    for (int jump = 0; jump < jumps_at_once && running() && keeps_up(); ++jump) {
        bench_us_ = std::max(bench_us_, controller_->next_due_us());
        controller_->advance(now());
    }
}

void Bench::advance_clock() {
    const std::int64_t wall = wall_us();
    const double passed_us = static_cast<double>(wall - std::exchange(wall_before_us_, wall));
    if (options_.pace <= 0.0 && running())
        return jump_ahead();
    const bool lags =
        !options_.lossy && options_.pace > 1.0 && running() &&
        controller_->backlog() > static_cast<std::uint32_t>(scenario_.buffer_lines / 2);
    if (!lags)
        bench_us_ +=
            static_cast<std::int64_t>(passed_us * (options_.pace > 0.0 ? options_.pace : 1.0));
}

void Bench::speak() {
    if (!host_there_ || stalled())
        return;
    if (pending_.size() < most_pending)
        for (const std::string& line : controller_->take_lines())
            pending_ += out_noise_.pass(line + '\n');
    if (!pending_.empty())
        pending_.erase(0, port_->write(pending_));
}

void Bench::pass_truths() {
    for (const RunTruth& truth : controller_->take_truths())
        hooks_.truth(truth);
    for (const PulseTruth& pulse : controller_->take_pulse_truths())
        hooks_.pulse(pulse);
}

Status Bench::pull() {
    say(fmt::format("line fault: the cable is pulled for {} ms", options_.faults.pull_ms));
    meet_host({.host_there = false});
    if (link_) // before the terminal's name is free for another bench
        link_->lead_nowhere();
    port_.reset();
    const std::int64_t until_us = wall_us() + options_.faults.pull_ms * 1000;
    while (wall_us() < until_us && !hooks_.stop_asked()) {
        std::this_thread::sleep_for(short_wait);
        advance_clock();
        controller_->advance(now());
    }
    Status plugged = plug_in();
    if (plugged)
        say("the cable is back, the port is now " + port_->path());
    return plugged;
}

Status Bench::line_faults() {
    if (!controller_->first_go_us())
        return Done{};
    const std::int64_t running_us = bench_us_ - *controller_->first_go_us();
    if (stalls_.due(running_us)) {
        say(fmt::format("line fault: nothing passes for {} ms", options_.faults.stall_ms));
        stalled_until_us_ = wall_us() + options_.faults.stall_ms * 1000;
    }
    if (resets_.due(running_us)) {
        say("fault: the controller is reset");
        controller_->reset(now());
    }
    if (estops_.due(running_us)) {
        say("fault: the emergency stop is pressed");
        controller_->press_estop(now());
        controller_->make_safe();
    }
    if (guards_.due(running_us)) {
        say("fault: a guard is opened");
        controller_->open_guard(now());
        controller_->make_safe();
    }
    return pulls_.due(running_us) ? pull() : Status(Done{});
}

Status Bench::step() {
    const bool hurry = options_.pace <= 0.0 && running() && keeps_up();
    const PortState port = port_->wait(hurry ? no_wait : short_wait, !pending_.empty());
    if (!port.host_there && port.readable && controller_)
        hear(); // its last words
    meet_host(port);
    if (!host_there_)
        std::this_thread::sleep_for(short_wait);
    if (!controller_) {
        wall_before_us_ = wall_us();
        return Done{};
    }
    advance_clock();
    if (host_there_ && port.readable && !stalled())
        hear();
    controller_->advance(now());
    speak();
    pass_truths();
    return line_faults();
}

bool Bench::over() const {
    if (hooks_.stop_asked())
        return true;
    if (!options_.once || !controller_ || host_there_)
        return false;
    return controller_->run_is_delivered() ||
           static_cast<double>(wall_us() - away_since_us_) > options_.away_s * 1e6;
}

Status Bench::serve() {
    if (Status plugged = plug_in(); !plugged)
        return plugged;
    hooks_.ready(port_->path());
    while (!over())
        if (Status stepped = step(); !stepped)
            return stepped;
    if (running())
        controller_->reset(now()); // the run ends here: its truths come out
    if (controller_)
        pass_truths();
    return Done{};
}

} // namespace

Status serve(const Scenario& scenario, const BenchOptions& options, const BenchHooks& hooks) {
    return Bench(scenario, options, hooks).serve();
}

} // namespace dropledger::bench_virtual
