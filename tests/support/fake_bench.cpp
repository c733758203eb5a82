#include "tests/support/fake_bench.hpp"

#include "analysis/base/text.hpp"
#include "analysis/droplog/line.hpp"

#include <fmt/format.h>

#include <algorithm>

namespace dropledger::recorder {

namespace {

constexpr std::int64_t start_unix_us = 1'700'000'000'000'000;
constexpr std::int64_t beat_every_us = 1'000'000;
constexpr std::int64_t fall_us = 20'000;
constexpr std::int64_t patience_us = 2'000'000; // without `alive` while armed

} // namespace

class FakeLink final : public link::Transport {
public:
    explicit FakeLink(FakeBench& bench) : bench_(bench), plug_(bench.plug_) {}

    link::Read read(std::chrono::milliseconds timeout) override {
        const auto until = bench_.now_us_ + std::chrono::microseconds(timeout).count();
        if (!gone())
            bench_.pass_until(until, true);
        if (gone())
            return {link::ReadOutcome::gone, {}};
        std::string bytes = bench_.take_output(117);
        if (!bytes.empty())
            return {link::ReadOutcome::bytes, std::move(bytes)};
        return {link::ReadOutcome::silence, {}};
    }

    Status write(std::string_view bytes) override {
        if (gone())
            return Error{ErrorKind::device, "fake", "gone", ""};
        pending_ += bytes;
        for (auto end = pending_.find('\n'); end != std::string::npos; end = pending_.find('\n')) {
            const std::string line = pending_.substr(0, end);
            pending_.erase(0, end + 1);
            if (bench_.arrives(line) && !bench_.mute_)
                bench_.hear(line);
        }
        return Done{};
    }

    void close() override { plug_ = -1; }

private:
    [[nodiscard]] bool gone() const { return plug_ != bench_.plug_; }

    FakeBench& bench_;
    int plug_;
    std::string pending_;
};

Microseconds FakeClock::steady() {
    return Microseconds{bench_.now_us_ + 1};
}
std::int64_t FakeClock::unix_us() {
    return start_unix_us + bench_.now_us_;
}
void FakeClock::wait(Microseconds time) {
    bench_.pass_until(bench_.now_us_ + time.count(), false);
}

namespace {

class FakeTicker final : public Ticker {
public:
    FakeTicker(FakeBench& bench, Microseconds period, std::function<void()> call)
        : bench_(bench), period_(period), call_(std::move(call)) {
        again();
    }
    ~FakeTicker() override { *lives_ = false; }

private:
    void again() {
        bench_.at(bench_.now_us() + period_.count(), [this, lives = lives_] {
            if (!*lives)
                return;
            call_();
            again();
        });
    }

    FakeBench& bench_;
    const Microseconds period_;
    const std::function<void()> call_;
    const std::shared_ptr<bool> lives_ = std::make_shared<bool>(true);
};

} // namespace

std::unique_ptr<Ticker> FakeClock::every(Microseconds period, std::function<void()> call) {
    return std::make_unique<FakeTicker>(bench_, period, std::move(call));
}

Result<std::unique_ptr<link::Transport>> FakeBench::open() {
    if (now_us_ < back_at_us_)
        return Error{ErrorKind::device, "fake", "no such port", ""};
    return std::unique_ptr<link::Transport>(std::make_unique<FakeLink>(*this));
}

void FakeBench::pass_until(std::int64_t us, bool stop_at_output) {
    while (!events_.empty() && events_.begin()->first <= us &&
           !(stop_at_output && !output_.empty())) {
        const auto first = events_.begin();
        now_us_ = std::max(now_us_, first->first);
        const auto action = first->second;
        events_.erase(first);
        action();
    }
    if (!stop_at_output || output_.empty())
        now_us_ = std::max(now_us_, us);
}

std::string FakeBench::take_output(std::size_t most) {
    std::string part = output_.substr(0, most);
    output_.erase(0, part.size());
    return part;
}

void FakeBench::boot() {
    const int number = ++boots_;
    kept_.clear();
    output_.clear();
    next_seq_ = lost_ = 0;
    booted_us_ = now_us_;
    acknowledged_ = -1;
    armed_ = moving_ = false;
    say("hello", fmt::format(",1,BOOT-{},{},fake", number, channels));
    at(now_us_ + beat_every_us, [this, number] { beat(number); });
}

void FakeBench::unplug(std::int64_t for_us) {
    ++plug_;
    output_.clear();
    back_at_us_ = now_us_ + for_us;
}

void FakeBench::fault(const std::string& code) {
    say("fault", ",-1," + code);
    halt(code);
}

void FakeBench::beat(int boot) {
    if (boot != boots_)
        return;
    say("beat", fmt::format(",{},{}", kept_.size(), lost_));
    at(now_us_ + beat_every_us, [this, boot] { beat(boot); });
}

void FakeBench::say(const std::string& name, const std::string& fields) {
    const std::uint32_t seq = next_seq_++;
    const auto tick_us = static_cast<std::uint32_t>(now_us_ - booted_us_);
    const std::string line = droplog::encode(fmt::format("{},{},{}{}", name, seq, tick_us, fields));
    if (loses(seq)) {
        ++lost_;
        return;
    }
    made_.push_back(line);
    kept_[seq] = line;
    if (!mute_)
        output_ += wire(line + '\n');
}

void FakeBench::drop(int boot, std::uint32_t index) {
    if (boot != boots_ || !moving_)
        return;
    if (index == wanted_)
        return halt("count");
    for (int channel = 0; channel < channels; ++channel) {
        say("drop", fmt::format(",{},{},{},1", channel, index, index * 180'000U));
        for (int seed = 0; seed < seeds(index); ++seed)
            at(now_us_ + fall_us + seed * 1000,
               [this, channel] { say("pulse", fmt::format(",{},0,900,450", channel)); });
    }
    at(now_us_ + drop_every_us, [this, boot, index] { drop(boot, index + 1); });
}

void FakeBench::halt(const std::string& reason) {
    moving_ = armed_ = false;
    say("halted", "," + reason);
}

void FakeBench::hear(const std::string& line) {
    const auto body = droplog::checked_body(line);
    if (!body)
        return say("refused", ",crc");
    std::vector<std::string> fields;
    for (const std::string_view field : droplog::fields_of(*body))
        fields.emplace_back(field);
    const std::string& name = fields.front();
    if (name != "alive" && name != "ack")
        heard_.push_back(std::string{*body});
    if (const std::string code = refuses(name); !code.empty())
        return say("refused", "," + code);
    if (name == "hello")
        return say("hello", fmt::format(",1,BOOT-{},{},fake", boots_, channels));
    if (name == "alive")
        alive_us_ = now_us_;
    else if (name == "arm")
        arm(fields);
    else if (name == "go")
        go();
    else if (name == "halt" && armed_)
        halt("host");
    else if (name == "halt")
        say("refused", ",state");
    else if (name == "ack")
        acknowledge(*parse_int(fields[1]));
    else if (name == "resend")
        resend(static_cast<std::uint32_t>(*parse_int(fields[1])));
}

void FakeBench::go() {
    if (!armed_ || moving_)
        return say("refused", ",state");
    moving_ = true;
    ++starts_;
    say("started", "");
    at(now_us_ + drop_every_us, [this, boot = boots_] { drop(boot, 0); });
}

void FakeBench::acknowledge(std::int64_t seq) {
    if (seq >= next_seq_)
        return say("refused", ",seq");
    acknowledged_ = std::max(acknowledged_, seq);
    if (forgets)
        kept_.erase(kept_.begin(), kept_.upper_bound(static_cast<std::uint32_t>(acknowledged_)));
}

void FakeBench::arm(const std::vector<std::string>& fields) {
    if (armed_)
        return say("refused", ",state");
    armed_ = true;
    wanted_ = halts_after.value_or(static_cast<std::uint32_t>(*parse_int(fields[6])));
    alive_us_ = now_us_;
    watch_alive(alive_us_);
    say("armed", "");
}

// The dead man's rule: looks again 2 s after each `alive` that it has seen.
void FakeBench::watch_alive(std::int64_t heard_us) {
    at(heard_us + patience_us + 1, [this, heard_us, boot = boots_] {
        if (boot != boots_ || !armed_)
            return;
        if (alive_us_ > heard_us)
            return watch_alive(alive_us_);
        fault("host_silent");
    });
}

void FakeBench::resend(std::uint32_t seq) {
    if (forgets && static_cast<std::int64_t>(seq) <= acknowledged_)
        return say("refused", ",gone");
    for (auto line = kept_.lower_bound(seq); line != kept_.end(); ++line)
        output_ += wire(line->second + '\n');
}

} // namespace dropledger::recorder
