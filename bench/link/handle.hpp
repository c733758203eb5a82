// What the serial port and the pseudo-terminal share: waiting on a handle, and holding it alone.
//
// Assumes: a non-blocking file handle of a terminal.
#pragma once

#include "bench/link/transport.hpp"

#include <functional>
#include <optional>

namespace dropledger::link {

// Takes bytes off the handle, or puts some on it: how many, 0 for none now, nothing when it failed
// for good.
using TakeBytes = std::function<std::optional<std::size_t>(char* into, std::size_t room)>;
using PutBytes = std::function<std::optional<std::size_t>(std::string_view bytes)>;

// A read with its four outcomes. The handle is polled for hang-up, because a hung-up line reads
// like a silent one; bytes that came before the hang-up are still delivered.
[[nodiscard]] Read read_handle(int handle, std::chrono::milliseconds timeout,
                               const TakeBytes& take);

[[nodiscard]] Status write_handle(int handle, std::string_view bytes, const PutBytes& put,
                                  const std::string& path);

// An advisory lock that ends with the process, however it ends; an error says who should let go.
[[nodiscard]] Status hold_alone(int handle, const std::string& path);

} // namespace dropledger::link
