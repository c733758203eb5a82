// A serial port as transport, and the list of those that this machine has.
//
// Assumes: `path` is the device itself, links already followed.
// Undefined when: a port has no USB identity: its USB fields are empty.
#pragma once

#include "bench/link/transport.hpp"

#include <vector>

namespace dropledger::link {

[[nodiscard]] Result<std::unique_ptr<Transport>> open_serial(const std::string& path, int baud);

struct PortDescription {
    std::string path{};
    std::string description{};
    std::string manufacturer{};
    std::string product{};
    std::string serial_number{};
};

[[nodiscard]] Result<std::vector<PortDescription>> list_ports();

enum class Likeness : std::uint8_t {
    bench,    // calls itself one
    adapter,  // a USB serial adapter or board: could be one
    unlikely, // a port of the machine itself
};

// From the USB description alone; nothing is sent.
[[nodiscard]] Likeness bench_likeness(const PortDescription& port);

} // namespace dropledger::link
