// A scripted bench controller in the same process, on a clock that only moves when somebody waits
// for it.
//
// Assumes: one thread. It keeps lines until acknowledged, goes back on `resend`, beats every
// second, drops at a steady pace after `go` and halts by itself after the ordered number, or 2 s
// after the last `alive`. Units: µs since it was made.
#pragma once

#include "bench/link/transport.hpp"
#include "bench/recorder/protocol/plan/clock.hpp"
#include "bench/recorder/protocol/plan/start.hpp"

#include <cstdint>
#include <deque>
#include <functional>
#include <map>
#include <optional>
#include <string>
#include <vector>

namespace dropledger::recorder {

class FakeBench;

class FakeClock final : public Clock {
public:
    explicit FakeClock(FakeBench& bench) : bench_(bench) {}
    [[nodiscard]] Microseconds steady() override;
    [[nodiscard]] std::int64_t unix_us() override;
    void wait(Microseconds time) override;
    // Calls within wait and read, when its time has come.
    [[nodiscard]] std::unique_ptr<Ticker> every(Microseconds period,
                                                std::function<void()> call) override;

private:
    FakeBench& bench_;
};

class FakeBench {
public:
    FakeBench() : clock(*this) { boot(); }

    [[nodiscard]] Result<std::unique_ptr<link::Transport>> open();

    // Knobs, to be set before the run.
    int channels = 1;
    std::int64_t drop_every_us = 50'000;
    std::function<int(std::uint32_t index)> seeds = [](std::uint32_t) { return 1; };
    // What the wire makes of a line (LF included) on its way to the host, and whether a host line
    // arrives.
    std::function<std::string(std::string line)> wire = [](std::string line) { return line; };
    std::function<bool(const std::string& line)> arrives = [](const std::string&) { return true; };
    std::function<std::string(const std::string& name)> refuses = [](const std::string&) {
        return "";
    };
    std::function<bool(std::uint32_t seq)> loses = [](std::uint32_t) { return false; };
    bool forgets = true;                      // what was acknowledged
    std::optional<std::uint32_t> halts_after; // drops, whatever was ordered
    void at(std::int64_t us, std::function<void()> action) {
        events_.emplace(us, std::move(action));
    }
    void boot();                         // starts anew: all is forgotten, another BOOT
    void unplug(std::int64_t for_us);    // hangs up; the port cannot be opened meanwhile
    void fault(const std::string& code); // says so and halts
    void mute() { mute_ = true; }        // neither hears nor speaks from now on
    void say(const std::string& name, const std::string& fields); // a line of its own
    void put(const std::string& bytes) { output_ += bytes; }      // onto the wire, kept by nobody
    [[nodiscard]] StartConfirmed leave() { return StartPrompt{clock}.told_beforehand(); }

    // What it did.
    [[nodiscard]] std::int64_t now_us() const { return now_us_; }
    [[nodiscard]] const std::vector<std::string>& made() const {
        return made_;
    } // every line, in order
    [[nodiscard]] const std::vector<std::string>& heard() const { return heard_; }
    [[nodiscard]] bool moving() const { return moving_; }
    [[nodiscard]] int starts() const { return starts_; } // how often motors were set in motion
    [[nodiscard]] std::int64_t acknowledged() const { return acknowledged_; }
    [[nodiscard]] std::size_t backlog() const { return kept_.size(); }

    FakeClock clock;

private:
    friend class FakeLink;
    friend class FakeClock;

    void pass_until(std::int64_t us, bool stop_at_output);
    void beat(int boot);
    void drop(int boot, std::uint32_t index);
    void halt(const std::string& reason);
    void hear(const std::string& line);
    void arm(const std::vector<std::string>& fields);
    void go();
    void acknowledge(std::int64_t seq);
    void watch_alive(std::int64_t heard_us);
    void resend(std::uint32_t seq);
    [[nodiscard]] std::string take_output(std::size_t most);

    std::int64_t now_us_ = 0;
    std::multimap<std::int64_t, std::function<void()>> events_;
    std::map<std::uint32_t, std::string> kept_;
    std::vector<std::string> made_;
    std::vector<std::string> heard_;
    std::string output_;
    int boots_ = 0;
    std::int64_t booted_us_ = 0;
    std::uint32_t next_seq_ = 0;
    std::uint32_t lost_ = 0;
    std::int64_t acknowledged_ = -1;
    bool armed_ = false;
    bool moving_ = false;
    std::uint32_t wanted_ = 0;
    std::int64_t alive_us_ = 0;
    int starts_ = 0;
    int plug_ = 0; // counts unpluggings: a link of an earlier plug is gone
    std::int64_t back_at_us_ = 0;
    bool mute_ = false;
};

} // namespace dropledger::recorder
