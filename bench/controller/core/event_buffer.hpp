// The controller's memory of lines: numbered, kept as events until acknowledged, sent again when
// asked for.
//
// Assumes: SEQ does not wrap within a boot (2^32 lines).
// An event that finds no room is thrown away: it keeps its SEQ, which stays a hole, and lost()
// counts it. A reserve is kept free for what must get through.
#pragma once

#include "bench/controller/core/event.hpp"

namespace dropledger {
namespace controller {

enum class Resend : uint8_t { again, gone, unknown };

class EventBuffer {
public:
    EventBuffer(uint8_t* room, uint16_t size, uint16_t reserve);

    void keep(const Event& event);                // numbered next_seq()
    void lose_one();                              // an event that never got here: numbered and lost
    [[nodiscard]] bool acknowledge(uint32_t seq); // false: no such line was ever numbered
    // Gives the room of what was acknowledged back, a few events a call, so that no call is long;
    // true while there is more.
    bool free_some();
    [[nodiscard]] Resend resend(uint32_t seq);
    // Takes the next event that was not sent yet, or is to be sent again; false where there is none.
    [[nodiscard]] bool next_to_send(Event& event, uint32_t& seq);

    [[nodiscard]] bool has_to_send() const { return sent_ < used_; }
    [[nodiscard]] uint32_t next_seq() const { return next_seq_; }
    [[nodiscard]] uint16_t backlog() const { return backlog_; }
    [[nodiscard]] uint32_t lost() const { return lost_; }

private:
    [[nodiscard]] uint8_t& byte(uint16_t from_front) const;
    [[nodiscard]] Event at(uint16_t from_front) const;
    [[nodiscard]] uint8_t size_at(uint16_t from_front) const;
    [[nodiscard]] uint32_t lines_at(uint16_t from_front) const;
    void append(const Event& event);
    void drop_front();

    uint8_t* room_;
    uint16_t size_;
    uint16_t reserve_;
    uint16_t front_ = 0; // where the oldest event begins
    uint16_t used_ = 0;  // bytes
    uint16_t sent_ = 0;  // bytes from the front that need not be sent now
    uint16_t backlog_ = 0;
    uint32_t front_seq_ = 0;
    uint32_t send_seq_ = 0; // of the event at sent_
    uint32_t next_seq_ = 0;
    uint32_t acknowledged_ = 0; // everything below
    uint32_t lost_ = 0;
    uint32_t hole_ = 0; // lost since the last one kept
};

} // namespace controller
} // namespace dropledger
