// What a controller, or noise, may send to the host: bytes through the framer into the protocol.
//
// `~` at a line's end becomes its check (expand.hpp); a NUL byte lets time pass. Each input is
// heard by a host that may start nothing and by one whose start is confirmed.
#include "analysis/droplog/line.hpp"
#include "bench/link/framer.hpp"
#include "bench/recorder/protocol/protocol.hpp"
#include "tests/fuzz/expand.hpp"
#include "tests/fuzz/target.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <optional>

using namespace dropledger;
using namespace dropledger::recorder;

namespace {

constexpr Microseconds step{50'000};
constexpr Microseconds later{450'000};

class StoppedClock final : public Clock {
public:
    Microseconds steady() override { return Microseconds{1'000'000}; }
    std::int64_t unix_us() override { return 0; }
    void wait(Microseconds) override {}
    std::unique_ptr<Ticker> every(Microseconds, std::function<void()>) override { return {}; }
};

Leave leave(bool may_start) {
    StoppedClock clock;
    Leave leave;
    if (may_start)
        leave.start = StartPrompt{clock}.told_beforehand();
    return leave;
}

// The host under test, and what it must never do.
class Host {
public:
    explicit Host(bool may_start)
        : protocol_({.mode = droplog::Mode::single,
                     .spacing_um = 100'000,
                     .speed_um_s = 250'000,
                     .drops = 5},
                    {}, leave(may_start)),
          goes_left_(may_start) {
        protocol_.link_up(now_);
    }

    void hear(std::string_view bytes) {
        framer_.feed(bytes);
        for (auto frame = framer_.next(); frame.kind != link::FrameKind::need_more;
             frame = framer_.next()) {
            if (frame.kind == link::FrameKind::line)
                protocol_.line(frame.bytes, now_);
            else
                protocol_.junk(frame.bytes, now_);
            pass(step);
        }
    }

    void pass(Microseconds time) {
        now_ += time;
        protocol_.time(now_);
        for (const Action& action : protocol_.take_actions())
            check(action);
    }

private:
    void check(const Action& action) {
        if (action.kind == ActionKind::keep)
            kept(action.text);
        if (action.kind == ActionKind::mark_confirmed)
            confirmed();
        if (action.kind != ActionKind::send && action.kind != ActionKind::send_synced)
            return;
        if (is(action.text, "go*"))
            sends_go();
        fuzz::require(droplog::checked_body(action.text).has_value(), "a line with its check");
    }

    void confirmed() {
        fuzz::require(goes_left_, "one confirmation, one start");
        goes_left_ = false;
        confirmed_ = true;
    }

    void sends_go() {
        fuzz::require(confirmed_, "no `go` without leave");
        fuzz::require(!started_, "no `go` behind `started`");
        fuzz::require(!reset_, "no `go` behind a reset");
        fuzz::require(armed_, "no `go` before `armed`");
        gone_ = true;
    }

    void kept(const std::string& line) {
        const auto record = droplog::decode(line);
        fuzz::require(record.from_controller(), "only controller lines are kept");
        const auto fields = droplog::fields_of(*droplog::checked_body(line));
        if (record.name == droplog::LineName::hello && boot_ && *boot_ != fields[4]) {
            reset_ = true;
            next_.reset();
        }
        if (record.name == droplog::LineName::hello)
            boot_ = fields[4];
        armed_ = armed_ || record.name == droplog::LineName::armed;
        const bool starts = record.name == droplog::LineName::started;
        fuzz::require(!starts || (gone_ && !started_) || protocol_.phase() >= Phase::halting,
                      "what starts unasked is halted");
        started_ = started_ || starts;
        fuzz::require(!next_ || static_cast<std::int32_t>(record.seq - *next_) >= 0, "SEQ goes on");
        next_ = record.seq + 1;
    }

    static bool is(std::string_view line, std::string_view start) {
        return line.starts_with(start);
    }

    Protocol protocol_;
    link::Framer framer_;
    Microseconds now_{1'000'000};
    std::optional<std::string> boot_;
    std::optional<std::uint32_t> next_;
    bool goes_left_;
    bool confirmed_ = false;
    bool armed_ = false;
    bool gone_ = false; // `go`
    bool started_ = false;
    bool reset_ = false;
};

void play(std::string_view rest, bool may_start) {
    Host host(may_start);
    while (!rest.empty()) {
        const auto pause = std::min(rest.find('\0'), rest.size());
        for (std::size_t at = 0; at < pause; at += 29)
            host.hear(rest.substr(at, std::min<std::size_t>(29, pause - at)));
        host.pass(later);
        rest.remove_prefix(std::min(pause + 1, rest.size()));
    }
    for (int i = 0; i < 40; ++i)
        host.pass(later);
}

} // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* bytes, std::size_t size) {
    const std::string wire = reference::expanded(fuzz::text_of(bytes, size));
    for (const bool may_start : {false, true})
        play(wire, may_start);
    return 0;
}
