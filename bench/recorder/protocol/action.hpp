// What the protocol wants done, in order, and what it has counted.
#pragma once

#include "analysis/droplog/line.hpp"

#include <cstdint>
#include <string>

namespace dropledger::recorder {

enum class ActionKind : std::uint8_t {
    keep,           // log this controller line, verbatim
    keep_conflict,  // the same, but a line of its SEQ stands in the log already
    keep_damaged,   // log these bytes as @damaged
    mark_time,      // log @at for `seq`
    mark_resumed,   // log @resumed
    mark_confirmed, // log @confirmed
    note,           // log as @note
    send,           // to the controller, and log @sent
    send_synced,    // log @sent, sync the log, and only then to the controller
    say,            // to the operator
    say_of_channel, // the same, of the record's channel
};

struct Action {
    ActionKind kind = ActionKind::say;
    std::string text;
    droplog::Record record{}; // keep, mark_time, say_of_channel: the line's numbers
    std::int64_t unix_us = 0; // mark_confirmed
};

struct Counts {
    std::uint64_t taken = 0;
    std::uint64_t damaged = 0;     // arrived and could not be understood
    std::uint64_t repeated = 0;    // arrived again
    std::uint64_t conflicting = 0; // arrived again, but as another line
    std::uint64_t resends = 0;     // asked for
    std::uint32_t lost = 0;        // thrown away by the controller, as its beats say
};

} // namespace dropledger::recorder
