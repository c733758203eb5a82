#include "bench/virtual/pty_port.hpp"

#include <array>
#include <cerrno>
#include <cstdlib>
#include <filesystem>

#include <fcntl.h>
#include <poll.h>
#include <termios.h>
#include <unistd.h>

namespace dropledger::bench_virtual {

namespace {

Error trouble(const char* verb) {
    return files::system_error("pseudo-terminal", verb, errno);
}

// No echo, no translation; and the other end opened once, so that a missing host shows as a
// hang-up.
Status make_raw(const std::string& path) {
    const files::Descriptor host_end(::open(path.c_str(), O_RDWR | O_NOCTTY | O_CLOEXEC));
    termios settings{};
    if (!host_end.is_open() || ::tcgetattr(host_end.number(), &settings) != 0)
        return trouble("open");
    ::cfmakeraw(&settings);
    if (::tcsetattr(host_end.number(), TCSANOW, &settings) != 0)
        return trouble("set to raw");
    return Done{};
}

} // namespace

Result<PtyPort> PtyPort::open() {
    files::Descriptor handle(::posix_openpt(O_RDWR | O_NOCTTY | O_NONBLOCK | O_CLOEXEC));
    std::array<char, 128> name{};
    if (!handle.is_open() || ::grantpt(handle.number()) != 0 || ::unlockpt(handle.number()) != 0 ||
        ::ptsname_r(handle.number(), name.data(), name.size()) != 0)
        return trouble("make");
    const std::string path(name.data());
    if (const Status raw = make_raw(path); !raw)
        return raw.error();
    return PtyPort(std::move(handle), path);
}

PortState PtyPort::wait(std::chrono::milliseconds timeout, bool to_write) const {
    const auto wanted = static_cast<short>(POLLIN | (to_write ? POLLOUT : 0));
    pollfd ask{.fd = handle_.number(), .events = wanted, .revents = 0};
    const int ready = ::poll(&ask, 1, static_cast<int>(timeout.count()));
    if (ready <= 0)
        return {.host_there = true, .readable = false, .writable = false};
    return {.host_there = (ask.revents & POLLHUP) == 0,
            .readable = (ask.revents & POLLIN) != 0,
            .writable = (ask.revents & POLLOUT) != 0};
}

std::string PtyPort::read() const {
    std::array<char, 4096> room{};
    const ssize_t taken = ::read(handle_.number(), room.data(), room.size());
    return taken > 0 ? std::string(room.data(), static_cast<std::size_t>(taken)) : std::string();
}

std::size_t PtyPort::write(std::string_view bytes) const {
    const ssize_t taken = ::write(handle_.number(), bytes.data(), bytes.size());
    return taken > 0 ? static_cast<std::size_t>(taken) : 0;
}

void PtyPort::forget_unread() const {
    ::tcflush(handle_.number(), TCOFLUSH);
}

Status PortLink::point_to(const std::string& target) {
    namespace fs = std::filesystem;
    std::error_code problem;
    const fs::file_status found = fs::symlink_status(link_, problem);
    if (fs::exists(found) && !fs::is_symlink(found))
        return usage_error(link_, "there is something that is not a link",
                           "give `link` another name");
    const std::string fresh = link_ + "." + std::to_string(::getpid()) + ".new";
    fs::remove(fresh, problem);
    fs::create_symlink(target, fresh, problem);
    if (!problem)
        fs::rename(fresh, link_, problem);
    if (problem)
        return files::system_error(link_, "link", problem.value());
    target_ = target;
    return Done{};
}

void PortLink::lead_nowhere() {
    std::error_code problem;
    if (!target_.empty() && std::filesystem::read_symlink(link_, problem) == target_)
        std::filesystem::remove(link_, problem);
}

} // namespace dropledger::bench_virtual
