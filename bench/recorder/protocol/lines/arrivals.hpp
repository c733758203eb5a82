// Which controller lines are taken into the log: the next SEQ of the boot, nothing else; and when a
// missing one is asked for again.
//
// Assumes: lines have passed their CRC. Before the first hello nothing is taken: those lines belong
// to no run.
// Units: times are µs of the steady clock.
#pragma once

#include "analysis/base/units.hpp"
#include "analysis/droplog/line.hpp"

#include <cstdint>
#include <map>
#include <optional>
#include <string>
#include <string_view>

namespace dropledger::recorder {

enum class Arrival : std::uint8_t {
    taken,    // the next SEQ
    new_boot, // the controller has started anew; taken where it is that boot's first line
    repeated, // was taken before
    early,    // something before it is missing
    foreign,  // no hello has been heard yet, or it may come from another boot
};

class Arrivals {
public:
    explicit Arrivals(Microseconds resend_interval) : interval_(resend_interval) {}

    // Goes on where a log ends.
    void restore(const std::string& boot, std::uint32_t next);

    // `boot` is the BOOT of a hello line, empty for every other.
    [[nodiscard]] Arrival judge(const droplog::Record& record, std::string_view boot,
                                Microseconds now);

    // A line came off the wire: where the SEQ falls back, the controller has begun to send again.
    void came(std::uint32_t seq);
    // Keeps an early line until its turn comes; take_held gives it back then. Where two lines of
    // one SEQ differ neither is kept: it is asked for again.
    void hold(std::uint32_t seq, std::string_view line);
    [[nodiscard]] std::optional<std::string> take_held();

    // The SEQ to ask from, where something is missing and was not asked for just now.
    [[nodiscard]] std::optional<std::uint32_t> ask_now(Microseconds now);
    // From here on another boot may speak: nothing is taken until `hello` has named it. What came
    // meanwhile is asked for again.
    void doubt_boot();
    [[nodiscard]] bool boot_named() const { return named_; }
    [[nodiscard]] bool greeted() const { return greeted_; } // by a hello that was taken

    [[nodiscard]] bool begun() const { return begun_; }
    // A later line has been seen than the last one taken.
    [[nodiscard]] bool behind() const { return highest_ && missing_or_later(*highest_); }
    [[nodiscard]] bool suspicious() const {
        return suspicious_;
    } // whether it is still the same boot
    [[nodiscard]] bool asked_lately(Microseconds now) const;
    [[nodiscard]] std::optional<std::uint32_t> last_taken() const;
    [[nodiscard]] std::optional<std::uint32_t> newest() const {
        return behind() ? highest_ : last_taken();
    }
    [[nodiscard]] std::uint32_t next() const { return next_; }
    [[nodiscard]] bool awaits_answer(Microseconds now) const { // to a `resend` of what is missing
        return asked_lately(now) && asked_seq_ == next_;
    }
    [[nodiscard]] const std::string& boot() const { return boot_; }
    [[nodiscard]] std::uint32_t conceded() const { return conceded_; } // lines given up as LOST

private:
    [[nodiscard]] Arrival judge_hello(const droplog::Record& hello, std::string_view boot);
    [[nodiscard]] Arrival judge_seq(const droplog::Record& record);
    void note_early();
    [[nodiscard]] bool ticks_back(const droplog::Record& record) const;
    [[nodiscard]] Arrival take(const droplog::Record& record);
    void begin(std::string_view boot, std::uint32_t next);
    [[nodiscard]] bool missing_or_later(std::uint32_t seq) const;
    void concede();

    Microseconds interval_;
    bool begun_ = false;
    std::string boot_;
    std::uint32_t next_ = 0;
    bool taken_any_ = false;
    std::uint32_t tick_us_ = 0;
    bool missing_ = false;     // a line came early that no answer still on its way can mend
    bool outstanding_ = false; // an answer to `resend` is on its way
    bool restarted_ = false;   // and has begun to come
    std::uint32_t latest_ = 0; // SEQ that came last
    std::map<std::uint32_t, std::string> held_;
    std::optional<std::uint32_t> highest_; // SEQ seen in this boot
    Microseconds taken_at_{0};
    bool suspicious_ = false;
    bool greeted_ = true;  // a hello of this boot was taken: it is a boot's first line
    bool named_ = true;    // the boot, by a hello, since it was doubted
    bool trusted_ = false; // a hello has confirmed the boot since the suspicion
    std::optional<Microseconds> asked_at_;
    std::uint32_t asked_seq_ = 0;
    std::uint32_t times_asked_ = 0;
    std::uint32_t lost_taken_ = 0;
    std::uint32_t lost_heard_ = 0;
    std::uint32_t conceded_ = 0;
};

} // namespace dropledger::recorder
