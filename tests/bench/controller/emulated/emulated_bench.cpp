// emulated_bench: the firmware in an emulated chip, on a pseudo-terminal, with seeding units around.
//
// usage: emulated_bench ELF MCU SCENARIO [--link PATH] [--pace X] [--baud N] [--noise SHARE]
//        [--pull-at S] [--pull-ms N] [--reset-at S] [--estop-at S] [--truth FILE] [--pulses FILE]
// Instants are seconds of bench time after the first start; --noise is the share of bytes with a
// bit flipped, both ways. Standard output has `setting,CHANNEL,KEY,VALUE` lines that fit the
// scenario, then a line that ends with the port. It serves until SIGINT or SIGTERM, then writes the
// truth and a line of figures.
#include "plant.hpp"

#include "bench/virtual/line_noise.hpp"
#include "bench/virtual/pty_port.hpp"
#include "bench/virtual/unit/scenario.hpp"

#include <fmt/format.h>

#include <chrono>
#include <csignal>
#include <cstdio>
#include <deque>
#include <fstream>
#include <map>
#include <stdexcept>
#include <string>
#include <thread>

namespace {

using namespace dropledger;
using namespace dropledger::emulated;
using Clock = std::chrono::steady_clock;

volatile std::sig_atomic_t stop_asked = 0;

constexpr Cycle turn = 2000 * cycles_per_us;
constexpr Cycle second = 1000000 * cycles_per_us;

class Options {
public:
    Options(int count, char** words) {
        for (int i = 4; i + 1 < count; i += 2)
            given_[words[i]] = words[i + 1];
    }
    [[nodiscard]] std::string text(const std::string& name) const {
        const auto found = given_.find(name);
        return found == given_.end() ? "" : found->second;
    }
    [[nodiscard]] double number(const std::string& name, double otherwise) const {
        return text(name).empty() ? otherwise : std::stod(text(name));
    }

private:
    std::map<std::string, std::string> given_;
};

template <class Value> Value must(Result<Value> result) {
    if (!result)
        throw std::runtime_error("cannot read the scenario or open a port");
    return std::move(*result);
}

class Bench {
public:
    Bench(char** words, const Options& options)
        : options_(options), chip_(words[1], words[2]),
          scenario_(must(bench_virtual::read_scenario(words[3]))),
          plant_(chip_, scenario_, wiring_of(words[2])),
          to_host_({.flip = options.number("--noise", 0)}, bench_virtual::Random(1, 1)),
          from_host_({.flip = options.number("--noise", 0)}, bench_virtual::Random(1, 2)),
          port_(must(bench_virtual::PtyPort::open())) {
        if (!options.text("--link").empty()) {
            link_.emplace(options.text("--link"));
            static_cast<void>(link_->point_to(port_->path()));
        }
        chip_.on_byte([this](std::uint8_t byte) { said_ += static_cast<char>(byte); });
        chip_.at(chip_.now() + byte_cycles(), [this] { pass_byte(); });
    }

    void serve() {
        for (const auto& setting : bench_virtual::suggested_settings(scenario_))
            std::printf("setting,%d,%s,%s\n", static_cast<int>(setting.channel),
                        setting.key.c_str(), setting.value.c_str());
        std::printf("port %s\n", port_->path().c_str());
        std::fflush(stdout);
        while (stop_asked == 0) {
            chip_.run_until(chip_.now() + turn);
            exchange();
            faults();
            keep_pace();
        }
        std::printf("%s\n", figures().c_str());
        write_truth();
    }

private:
    [[nodiscard]] Cycle byte_cycles() const {
        return chip_.cycles_per_byte(static_cast<unsigned>(options_.number("--baud", 115200)));
    }

    void pass_byte() {
        if (!heard_.empty()) {
            chip_.send(static_cast<std::uint8_t>(heard_.front()));
            heard_.pop_front();
        }
        chip_.at(chip_.now() + byte_cycles(), [this] { pass_byte(); });
    }

    // What the chip says while nobody listens is gone, as on any line.
    void exchange() {
        said_bytes_ += said_.size();
        if (!port_ || !port_->wait(std::chrono::milliseconds(0), false).host_there) {
            said_.clear();
            pending_.clear();
            if (port_)
                port_->forget_unread();
            return;
        }
        pending_ += to_host_.pass(said_);
        said_.clear();
        pending_.erase(0, port_->write(pending_));
        for (const char byte : from_host_.pass(port_->read()))
            heard_.push_back(byte);
    }

    [[nodiscard]] bool due(const char* name) {
        const double at_s = options_.number(name, -1);
        const auto start = plant_.first_start();
        if (at_s < 0 || !start || done_[name] ||
            static_cast<double>(chip_.now() - *start) < at_s * second)
            return false;
        done_[name] = true;
        return true;
    }

    void faults() {
        if (due("--reset-at")) {
            chip_.reset();
            plant_.chip_was_reset();
        }
        if (due("--estop-at")) {
            plant_.press_estop(true);
            chip_.at(chip_.now() + second, [this] { plant_.press_estop(false); });
        }
        if (due("--pull-at")) {
            port_.reset();
            back_at_ = chip_.now() + static_cast<Cycle>(options_.number("--pull-ms", 1000)) * 1000 *
                                         cycles_per_us;
        }
        if (port_ || chip_.now() < back_at_)
            return;
        port_.emplace(must(bench_virtual::PtyPort::open()));
        if (link_)
            static_cast<void>(link_->point_to(port_->path()));
    }

    void keep_pace() {
        const double pace = options_.number("--pace", 1);
        const std::chrono::duration<double> bench_s(static_cast<double>(chip_.now()) / second /
                                                    pace);
        std::this_thread::sleep_until(began_ +
                                      std::chrono::duration_cast<Clock::duration>(bench_s));
    }

    [[nodiscard]] std::string figures() const {
        return fmt::format(
            "bench seconds {:.1f}, wall seconds {:.1f}, bytes said {}, stack {} bytes, busy {:.3f}",
            static_cast<double>(chip_.now()) / second,
            std::chrono::duration<double>(Clock::now() - began_).count(), said_bytes_,
            chip_.memory_end() - chip_.lowest_stack() + 1, chip_.busy_share());
    }

    void write_truth() const {
        std::ofstream drops(options_.text("--truth"));
        drops << "boot,run,channel,index,at_us,seeds,landings_um\n";
        for (const OpeningTruth& one : plant_.openings()) {
            drops << fmt::format("{},{},{},{},{:.3f},{},", one.boot, one.run, one.channel,
                                 one.index, one.at_us, one.seeds);
            for (std::size_t i = 0; i < one.landings_um.size(); ++i)
                drops << (i > 0 ? ";" : "") << fmt::format("{:.0f}", one.landings_um[i]);
            drops << '\n';
        }
        std::ofstream pulses(options_.text("--pulses"));
        pulses << "boot,run,channel,gate,at_us,width_us,seeds,index\n";
        for (const auto& one : plant_.pulses())
            pulses << fmt::format("{},{},{},{},{:.3f},{:.3f},{},{}\n", one.boot, one.run,
                                  one.channel, one.gate, one.at_us, one.width_us, one.seeds,
                                  one.index);
    }

    const Options& options_;
    Chip chip_;
    bench_virtual::Scenario scenario_;
    Plant plant_;
    bench_virtual::LineNoise to_host_;
    bench_virtual::LineNoise from_host_;
    std::optional<bench_virtual::PtyPort> port_;
    std::optional<bench_virtual::PortLink> link_;
    std::map<std::string, bool> done_;
    Cycle back_at_ = 0;
    std::string said_;
    std::string pending_;
    std::deque<char> heard_;
    std::size_t said_bytes_ = 0;
    Clock::time_point began_ = Clock::now();
};

} // namespace

int main(int count, char** words) {
    if (count < 4) {
        std::fprintf(stderr, "usage: emulated_bench ELF MCU SCENARIO [--OPTION VALUE]...\n");
        return 64;
    }
    const auto stop = [](int) { stop_asked = 1; };
    std::signal(SIGINT, stop);
    std::signal(SIGTERM, stop);
    try {
        const Options options(count, words);
        Bench(words, options).serve();
    } catch (const std::exception& trouble) {
        std::fprintf(stderr, "%s\n", trouble.what());
        return 74;
    }
    return 0;
}
