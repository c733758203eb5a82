#include "bench/recorder/protocol/lines/arrivals.hpp"

#include <algorithm>
#include <utility>

namespace dropledger::recorder {

namespace {

using droplog::LineName;

// A line is given up only when the controller says that it threw lines away and several answers
// lacked it (any one answer may have been damaged on the way), or after very many answers.
constexpr std::uint32_t asks_before_conceding_lost = 6;
constexpr std::uint32_t asks_before_conceding = 40;
constexpr std::size_t most_held = 20'000; // lines, about 1 MB
constexpr int stall_time = 3;             // resend intervals without progress
constexpr int answer_time = 20;           // resend intervals in which repeats are no surprise
constexpr std::int32_t plausible_step_back_us = -1'000'000;

bool before(std::uint32_t a, std::uint32_t b) {
    return static_cast<std::int32_t>(a - b) < 0;
}

} // namespace

void Arrivals::restore(const std::string& boot, std::uint32_t next) {
    begin(boot, next);
    taken_any_ = false; // the tick of the last line is not known any more
}

void Arrivals::begin(std::string_view boot, std::uint32_t next) {
    begun_ = true;
    boot_ = boot;
    next_ = next;
    taken_any_ = false;
    highest_.reset();
    missing_ = suspicious_ = false;
    named_ = greeted_ = true;
    asked_at_.reset();
    times_asked_ = 0;
    held_.clear();
    outstanding_ = restarted_ = false;
    latest_ = next;
    lost_taken_ = lost_heard_ = 0;
}

Arrival Arrivals::judge(const droplog::Record& record, std::string_view boot, Microseconds now) {
    if ((!begun_ || !named_) && record.name != LineName::hello)
        return begun_ && before(record.seq, next_) ? Arrival::repeated : Arrival::foreign;
    const std::uint32_t next_before = next_;
    const Arrival arrival =
        record.name == LineName::hello ? judge_hello(record, boot) : judge_seq(record);
    if (next_ != next_before)
        taken_at_ = now;
    return arrival;
}

Arrival Arrivals::judge_hello(const droplog::Record& hello, std::string_view boot) {
    if (!begun_) {
        begin(boot, hello.seq);
        return take(hello);
    }
    if (boot == boot_) {
        suspicious_ = false;
        trusted_ = named_ = true;
        return judge_seq(hello);
    }
    begin(boot, 0);
    if (hello.seq == 0) {
        static_cast<void>(take(hello));
        return Arrival::new_boot;
    }
    greeted_ = false;
    missing_ = true;
    highest_ = hello.seq;
    return Arrival::new_boot;
}

bool Arrivals::ticks_back(const droplog::Record& record) const {
    return taken_any_ &&
           static_cast<std::int32_t>(record.tick_us - tick_us_) < plausible_step_back_us;
}

Arrival Arrivals::judge_seq(const droplog::Record& record) {
    if (record.name == LineName::beat)
        lost_heard_ = std::max(lost_heard_, record.count);
    if (before(record.seq, next_))
        return Arrival::repeated;
    if (!highest_ || before(*highest_, record.seq))
        highest_ = record.seq;
    if (record.seq != next_) {
        note_early();
        return Arrival::early;
    }
    if (!greeted_ && record.name != LineName::hello)
        return Arrival::foreign; // in the log it would pass for the former boot's
    if (!trusted_ && ticks_back(record)) {
        suspicious_ = true;
        return Arrival::foreign;
    }
    return take(record);
}

Arrival Arrivals::take(const droplog::Record& record) {
    next_ = record.seq + 1;
    tick_us_ = record.tick_us;
    taken_any_ = true;
    missing_ = trusted_ = false;
    greeted_ = true;
    outstanding_ = outstanding_ && behind();
    times_asked_ = 0;
    if (record.name == LineName::beat)
        lost_taken_ = record.count;
    return Arrival::taken;
}

void Arrivals::came(std::uint32_t seq) {
    restarted_ = restarted_ || !before(latest_, seq);
    latest_ = seq;
}

// While an answer is on its way it may still bring what is missing, until it has begun and gone
// past it.
void Arrivals::note_early() {
    missing_ = missing_ || !outstanding_ || restarted_;
}

void Arrivals::doubt_boot() {
    named_ = !begun_;
    missing_ = outstanding_ = false;
}

void Arrivals::hold(std::uint32_t seq, std::string_view line) {
    const auto same = held_.find(seq);
    if (same != held_.end() && same->second != line)
        held_.erase(same);
    else if (held_.size() < most_held)
        held_.emplace(seq, line);
}

std::optional<std::string> Arrivals::take_held() {
    while (!held_.empty() && before(held_.begin()->first, next_))
        held_.erase(held_.begin());
    if (held_.empty() || held_.begin()->first != next_)
        return std::nullopt;
    return std::move(held_.extract(held_.begin()).mapped());
}

bool Arrivals::asked_lately(Microseconds now) const {
    return asked_at_ && now - *asked_at_ < answer_time * interval_;
}

std::optional<std::uint32_t> Arrivals::ask_now(Microseconds now) {
    const Microseconds since = std::max(taken_at_, asked_at_.value_or(Microseconds{0}));
    const bool stalled = behind() && now - since >= stall_time * interval_;
    if (!missing_ && !stalled)
        return std::nullopt;
    if (asked_at_ && asked_seq_ == next_ && now - *asked_at_ < interval_)
        return std::nullopt;
    concede();
    asked_at_ = now;
    asked_seq_ = next_;
    ++times_asked_;
    missing_ = restarted_ = false;
    outstanding_ = true;
    return next_;
}

bool Arrivals::missing_or_later(std::uint32_t seq) const {
    return !before(seq, next_);
}

void Arrivals::concede() {
    const bool told = lost_heard_ > lost_taken_;
    const auto enough = told ? asks_before_conceding_lost : asks_before_conceding;
    if (times_asked_ < enough || held_.empty() || !greeted_)
        return;
    conceded_ += held_.begin()->first - next_;
    next_ = held_.begin()->first;
    times_asked_ = 0;
}

std::optional<std::uint32_t> Arrivals::last_taken() const {
    if (!begun_ || next_ == 0)
        return std::nullopt;
    return next_ - 1;
}

} // namespace dropledger::recorder
