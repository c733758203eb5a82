// Reads a droplog as a stream, in bounded memory, and hands its controller lines on in file order.
//
// Three stages run side by side: bytes are cut into lines and decoded (by one thread or several),
// the seal chain is verified, and the calling thread sorts lines into the tally and feeds the
// consumer; the result does not depend on timing.
// Assumes: the consumer is called on the calling thread only.
// Units: Event::time_us is the unwrapped tick, µs; it starts anew with every boot, at the tick of
// that boot's first line in the log.
#pragma once

#include "analysis/base/readers/byte_source.hpp"
#include "analysis/droplog/integrity.hpp"
#include "analysis/droplog/line.hpp"

#include <cstdint>
#include <string_view>

namespace dropledger::droplog {

struct Event {
    Record record;
    std::int64_t time_us = 0;
    std::uint64_t line = 0;
    std::string_view body; // without CRC; only until the call returns
};

class Consumer {
public:
    virtual ~Consumer() = default;
    // Once, before the first event; at the end of a log without controller lines.
    virtual void begin(const Header& header) = 0;
    // A boot in mid-run: time and travel start anew.
    virtual void reboot() = 0;
    // Every used controller line; hello and beat lines before the run's first other line are left
    // out, since settings may follow them.
    virtual void take(const Event& event) = 0;
};

struct Reading {
    Header header;
    Integrity integrity;
};

// Threads that decode: as many as keep up with the one that hashes.
[[nodiscard]] std::size_t usual_decoders();

// Fails where the bytes cannot be read or where not one line of a droplog is in them; `name` is for
// messages.
[[nodiscard]] Result<Reading> read_log(ByteSource& source, std::string_view name,
                                       Consumer& consumer, std::size_t decoders = usual_decoders());

// Integrity only.
[[nodiscard]] Result<Reading> check_log(ByteSource& source, std::string_view name);

} // namespace dropledger::droplog
