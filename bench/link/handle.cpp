#include "bench/link/handle.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cerrno>
#include <cstring>

#include <poll.h>
#include <sys/file.h>

namespace dropledger::link {

namespace {

using Clock = std::chrono::steady_clock;
using std::chrono::milliseconds;

// Long enough for a controller that is busy, short enough that a dead one is noticed within a beat
// or two.
constexpr milliseconds write_patience{1000};
constexpr std::size_t chunk = 4096;

milliseconds remaining(Clock::time_point until) {
    const auto left = std::chrono::ceil<milliseconds>(until - Clock::now());
    return std::max(left, milliseconds{0});
}

// The events that happened, 0 after the timeout; interruptions by signals wait on.
short wait_for(int handle, short events, Clock::time_point until) {
    pollfd entry{handle, events, 0};
    int ready = 0;
    do {
        ready = ::poll(&entry, 1, static_cast<int>(remaining(until).count()));
    } while (ready < 0 && errno == EINTR);
    return ready < 0 ? static_cast<short>(POLLERR) : entry.revents;
}

bool has(short events, int wanted) {
    return (events & wanted) != 0;
}

Error lost(const std::string& path) {
    return device_error(path, "the line is gone (hung up or unplugged)",
                        "check cable and power of the controller");
}

} // namespace

Read read_handle(int handle, milliseconds timeout, const TakeBytes& take) {
    const short events = wait_for(handle, POLLIN, Clock::now() + timeout);
    if (has(events, POLLIN)) {
        std::array<char, chunk> buffer{};
        const auto taken = take(buffer.data(), buffer.size());
        if (taken && *taken > 0)
            return {ReadOutcome::bytes, std::string(buffer.data(), *taken)};
        return {ReadOutcome::gone, {}}; // readable, yet nothing to read: end of the line
    }
    if (events != 0)
        return {ReadOutcome::gone, {}};
    return {timeout.count() == 0 ? ReadOutcome::would_block : ReadOutcome::silence, {}};
}

Status write_handle(int handle, std::string_view bytes, const PutBytes& put,
                    const std::string& path) {
    const auto until = Clock::now() + write_patience;
    while (!bytes.empty()) {
        const short events = wait_for(handle, POLLOUT, until);
        if (has(events, POLLHUP | POLLERR | POLLNVAL))
            return lost(path);
        if (events == 0)
            return device_error(path, "the controller takes no bytes",
                                "check that it runs and that nothing holds its line");
        const auto put_now = put(bytes);
        if (!put_now)
            return lost(path);
        bytes.remove_prefix(*put_now);
    }
    return Done{};
}

Status hold_alone(int handle, const std::string& path) {
    if (::flock(handle, LOCK_EX | LOCK_NB) == 0)
        return Done{};
    if (errno == EWOULDBLOCK)
        return device_error(path, "the port is in use by another program",
                            "end the other run or terminal program and try again");
    return device_error(path, fmt::format("the port cannot be locked ({})", std::strerror(errno)),
                        "");
}

} // namespace dropledger::link
