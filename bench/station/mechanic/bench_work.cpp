#include "bench/station/mechanic/bench_work.hpp"

#include "analysis/report/pictures/markup.hpp"
#include "bench/station/mechanic/live_part.hpp"

#include <fmt/chrono.h>
#include <fmt/format.h>

#include <ctime>

namespace dropledger::station {

using report::pictures::element;
using report::pictures::escaped;

namespace {

constexpr Microseconds show_every{250'000};
constexpr std::size_t most_said = 100;

} // namespace

BenchWork::BenchWork(EventHub& events, recorder::Clock& clock) : events_(events), clock_(clock) {
    events_.publish("bar", "");
    events_.publish("live", "");
}

BenchWork::~BenchWork() {
    end_and_wait();
}

Status BenchWork::begin(std::string words, std::function<Ending(BenchWork&)> work) {
    {
        const std::lock_guard lock(mutex_);
        if (on_)
            return usage_error("bench", "it is at work already",
                               "halt that first, or wait for its end");
        on_ = true;
        ++number_;
        halts_ = 0;
        words_ = std::move(words);
        table_.clear();
        said_.clear();
        question_.clear();
        last_.reset();
    }
    if (thread_.joinable())
        thread_.join();
    presence_.begin(clock_.steady());
    beats_ = clock_.every(beat_every, [this] {
        events_.publish("beat", fmt::to_string(presence_.next_beat()), EventHub::Lasts::no);
    });
    publish(true);
    thread_ = std::thread([this, work = std::move(work)] { this->work(work); });
    return Done{};
}

void BenchWork::work(const std::function<Ending(BenchWork&)>& what) {
    Ending ending;
    try {
        ending = what(*this);
    } catch (const std::exception& broken) {
        ending.error = device_error("station", fmt::format("a bug of ours: {}", broken.what()),
                                    "make sure that the motors stand still, and report it");
    }
    const std::string page = ending.page.empty() ? "/run" : ending.page;
    beats_.reset();
    {
        const std::lock_guard lock(mutex_);
        on_ = false;
        question_.clear();
        last_ = std::move(ending);
    }
    publish(true);
    events_.publish("ended", page, EventHub::Lasts::no);
}

recorder::Hooks BenchWork::hooks() {
    recorder::Hooks hooks;
    hooks.interrupts = [this] {
        const std::lock_guard lock(mutex_);
        return halts_ > 0 ? 1 : 0; // never leaves at once: the log is closed first
    };
    hooks.say = [this](const std::string& text) { say(text); };
    hooks.attended = [this] { return presence_.living(clock_.steady()); };
    return hooks;
}

void BenchWork::say(const std::string& text) {
    {
        const std::lock_guard lock(mutex_);
        if (said_.size() >= most_said)
            said_.erase(said_.begin());
        said_.push_back(fmt::format("{:%H:%M:%S} {}", fmt::localtime(std::time(nullptr)), text));
    }
    publish(false);
}

void BenchWork::show(const cli::ScreenModel& model) {
    const Microseconds now = clock_.steady();
    if (now - shown_at_ < show_every)
        return;
    shown_at_ = now;
    std::string table = live_part(model);
    {
        const std::lock_guard lock(mutex_);
        table_ = std::move(table);
    }
    publish(false);
}

std::optional<recorder::StartConfirmed> BenchWork::question(const std::string& text) {
    std::unique_lock lock(mutex_);
    question_ = text;
    answer_.reset();
    lock.unlock();
    publish(false);
    lock.lock();
    const auto over = [this] {
        return answer_ || halts_ > 0 || !presence_.living(clock_.steady());
    };
    while (!over())
        answered_.wait_for(lock, std::chrono::milliseconds{200});
    question_.clear();
    const bool yes = answer_.value_or(false) && halts_ == 0;
    lock.unlock();
    publish(false);
    if (!yes)
        return std::nullopt;
    return recorder::StartPrompt(clock_).told_beforehand();
}

void BenchWork::halt() {
    const std::lock_guard lock(mutex_);
    ++halts_;
    answered_.notify_all();
}

void BenchWork::answer(bool yes) {
    const std::lock_guard lock(mutex_);
    if (!question_.empty())
        answer_ = yes;
    answered_.notify_all();
}

void BenchWork::here(const std::string& run, std::uint64_t beat) {
    {
        const std::lock_guard lock(mutex_);
        if (!on_ || run != fmt::to_string(number_))
            return;
    }
    presence_.answered(beat, clock_.steady());
}

bool BenchWork::is_on() const {
    const std::lock_guard lock(mutex_);
    return on_;
}

std::string BenchWork::bar() const {
    const std::lock_guard lock(mutex_);
    return on_ ? run_bar(fmt::to_string(number_), words_) : std::string{};
}

std::string BenchWork::live_locked() const {
    std::string text;
    if (!question_.empty())
        text += element(
            "div", "class=\"caution\"",
            start_cautions_part() + element("p", "class=\"lead\"", escaped(question_)) +
                element("div", "class=\"acts\"",
                        element("form", "method=\"post\" action=\"/run/answer\"",
                                "<input type=\"hidden\" name=\"answer\" value=\"yes\" />" +
                                    element("button", "class=\"go\" type=\"submit\"",
                                            "Start the motor")) +
                            element("form", "method=\"post\" action=\"/run/answer\"",
                                    "<input type=\"hidden\" name=\"answer\" value=\"no\" />" +
                                        element("button", "type=\"submit\"", "Stop here"))));
    return text + table_ + happenings(said_);
}

std::string BenchWork::live() const {
    const std::lock_guard lock(mutex_);
    return live_locked();
}

std::optional<BenchWork::Ending> BenchWork::last() const {
    const std::lock_guard lock(mutex_);
    return last_;
}

void BenchWork::publish(bool bar_too) {
    if (bar_too)
        events_.publish("bar", bar());
    events_.publish("live", live());
}

void BenchWork::end_and_wait() {
    halt();
    if (thread_.joinable())
        thread_.join();
}

} // namespace dropledger::station
