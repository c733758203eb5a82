// What moves motors for a page: at most one piece of work at a time, on a thread of its own.
//
// Assumes: each start is a person's, given by a page: the work asks by `question`, which waits for the
// answer. While work is on, pages are asked for a sign of life (presence.hpp); where none gives one the
// recorder halts. Ending the station ends the work first.
#pragma once

#include "bench/commands/run/screen/live_run.hpp"
#include "bench/recorder/recorder.hpp"
#include "bench/station/mechanic/presence.hpp"
#include "bench/station/server/events.hpp"

#include <condition_variable>
#include <functional>
#include <memory>
#include <mutex>
#include <optional>
#include <string>
#include <thread>
#include <vector>

namespace dropledger::station {

class BenchWork {
public:
    BenchWork(EventHub& events, recorder::Clock& clock);
    BenchWork(const BenchWork&) = delete;
    BenchWork& operator=(const BenchWork&) = delete;
    ~BenchWork(); // halts

    // Where it ended: the page to go to, or what went wrong.
    struct Ending {
        std::string heading = "It has ended";
        std::string page;
        std::optional<Error> error;
        std::vector<std::string> says;
    };
    // `words`: what is on, for the bar. Refused where something is on already.
    [[nodiscard]] Status begin(std::string words, std::function<Ending(BenchWork&)> work);

    // For the work, on its thread.
    [[nodiscard]] recorder::Hooks hooks(); // interrupts, words and sign of life
    void say(const std::string& text);
    void show(const cli::ScreenModel& model); // at most four times a second
    // Waits for a page's answer; no leave where it is no, a halt, or nobody there.
    [[nodiscard]] std::optional<recorder::StartConfirmed> question(const std::string& text);

    // For pages, on any thread; none of these waits.
    void halt();
    void answer(bool yes);
    void here(const std::string& run, std::uint64_t beat);
    [[nodiscard]] bool is_on() const;
    [[nodiscard]] std::string bar() const;
    [[nodiscard]] std::string live() const;
    [[nodiscard]] std::optional<Ending> last() const; // of the work that ended last
    void end_and_wait();

private:
    void work(const std::function<Ending(BenchWork&)>& what);
    void publish(bool bar_too);
    [[nodiscard]] std::string live_locked() const;

    EventHub& events_;
    recorder::Clock& clock_;
    Presence presence_;
    mutable std::mutex mutex_;
    std::condition_variable answered_;
    bool on_ = false;
    int number_ = 0; // of this work
    int halts_ = 0;
    std::string words_;
    std::string question_; // empty: none is open
    std::optional<bool> answer_;
    std::string table_;
    std::vector<std::string> said_;
    std::optional<Ending> last_;
    Microseconds shown_at_{0};
    std::unique_ptr<recorder::Ticker> beats_;
    std::thread thread_;
};

} // namespace dropledger::station
