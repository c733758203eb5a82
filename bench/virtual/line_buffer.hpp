// The controller's memory of lines: numbered, kept until acknowledged, sent again on request.
//
// Assumes: SEQ does not wrap within a boot (2^32 lines).
// A line that finds the buffer full is thrown away; its SEQ stays a gap and it counts as lost. A
// few places are kept free for what must get through (state changes, faults, refusals).
#pragma once

#include <cstdint>
#include <deque>
#include <string>
#include <string_view>

namespace dropledger::bench_virtual {

enum class Weight : std::uint8_t { ordinary, must_get_through };
enum class Resend : std::uint8_t { again, gone, unknown };

class LineBuffer {
public:
    explicit LineBuffer(std::size_t capacity) : capacity_(capacity) {}

    [[nodiscard]] std::uint32_t next_seq() const { return next_seq_; }
    void keep(std::string line, Weight weight);        // a line numbered next_seq()
    [[nodiscard]] bool acknowledge(std::uint32_t seq); // false: no such line was ever sent
    [[nodiscard]] Resend resend(std::uint32_t seq);
    // Gives each line that was not sent yet to `take`, without LF.
    template <class Take> void hand_over(Take take) {
        for (; sent_ < held_.size(); ++sent_)
            take(std::string_view{held_[sent_].line});
    }

    [[nodiscard]] std::uint32_t backlog() const { return static_cast<std::uint32_t>(held_.size()); }
    [[nodiscard]] std::uint32_t acknowledged() const { return acknowledged_; } // every SEQ below
    [[nodiscard]] std::uint32_t lost() const { return lost_; }

private:
    struct Held {
        std::uint32_t seq;
        std::string line;
    };

    std::size_t capacity_;
    std::deque<Held> held_;
    std::size_t sent_ = 0;           // of the held ones
    std::uint32_t acknowledged_ = 0; // everything below
    std::uint32_t next_seq_ = 0;
    std::uint32_t lost_ = 0;
};

} // namespace dropledger::bench_virtual
