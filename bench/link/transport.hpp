// A byte pipe to a bench controller: read, write, close, and nothing that knows the protocol.
//
// Assumes: one owner and one reading thread; writes may come from another, one at a time. A
// transport that has answered `gone` stays gone; open a new one.
// Units: timeouts in milliseconds of the steady clock; baud in bits per second, always 8N1.
#pragma once

#include "analysis/base/result.hpp"

#include <chrono>
#include <cstdint>
#include <memory>
#include <string>
#include <string_view>

namespace dropledger::link {

enum class ReadOutcome : std::uint8_t {
    bytes,       // `bytes` holds at least one
    silence,     // the whole timeout passed and nothing came; the other end may well be there
    would_block, // asked with timeout 0 and nothing was waiting
    gone,        // hung up, unplugged or closed: no byte will ever come again
};

struct Read {
    ReadOutcome outcome = ReadOutcome::silence;
    std::string bytes;
};

class Transport {
public:
    Transport() = default;
    Transport(const Transport&) = delete;
    Transport& operator=(const Transport&) = delete;
    virtual ~Transport() = default;

    // Waits at most `timeout` for the first byte, then takes what is there.
    [[nodiscard]] virtual Read read(std::chrono::milliseconds timeout) = 0;
    // All of `bytes`, or an error; waits a bounded time while the other end takes nothing.
    [[nodiscard]] virtual Status write(std::string_view bytes) = 0;
    virtual void close() = 0;
};

constexpr int default_baud = 115200;

// Opens a serial port, or a pseudo-terminal where `path` leads to one; links (by-id names, the link
// of a virtual bench) are followed at every call. The port is held exclusively.
[[nodiscard]] Result<std::unique_ptr<Transport>> open_transport(const std::string& path, int baud);

} // namespace dropledger::link
