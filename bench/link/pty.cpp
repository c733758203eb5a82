#include "bench/link/pty.hpp"

#include "bench/link/handle.hpp"

#include <fmt/format.h>

#include <cerrno>
#include <cstring>

#include <fcntl.h>
#include <termios.h>
#include <unistd.h>

namespace dropledger::link {

namespace {

std::optional<std::size_t> moved(ssize_t bytes) {
    if (bytes >= 0)
        return static_cast<std::size_t>(bytes);
    if (errno == EAGAIN || errno == EINTR)
        return 0;
    return std::nullopt;
}

class Pty final : public Transport {
public:
    Pty(int handle, std::string path) : handle_(handle), path_(std::move(path)) {}
    ~Pty() override { Pty::close(); }

    Read read(std::chrono::milliseconds timeout) override {
        return read_handle(handle_, timeout, [this](char* into, std::size_t room) {
            return moved(::read(handle_, into, room));
        });
    }

    Status write(std::string_view bytes) override {
        const auto put = [this](std::string_view rest) {
            return moved(::write(handle_, rest.data(), rest.size()));
        };
        return write_handle(handle_, bytes, put, path_);
    }

    void close() override {
        if (handle_ >= 0)
            ::close(handle_);
        handle_ = -1;
    }

private:
    int handle_;
    std::string path_;
};

Error trouble(const std::string& path, const char* doing) {
    return device_error(path, fmt::format("{} ({})", doing, std::strerror(errno)),
                        "check that the virtual bench is running");
}

Status make_raw(int handle, const std::string& path) {
    termios settings{};
    if (::tcgetattr(handle, &settings) != 0)
        return trouble(path, "not a terminal");
    ::cfmakeraw(&settings);
    // Flushing drops what stood there before us; a controller sends again what it is asked for.
    if (::tcsetattr(handle, TCSAFLUSH, &settings) != 0)
        return trouble(path, "the terminal cannot be set to raw");
    return Done{};
}

} // namespace

Result<std::unique_ptr<Transport>> open_pty(const std::string& path) {
    const int handle = ::open(path.c_str(), O_RDWR | O_NOCTTY | O_NONBLOCK | O_CLOEXEC);
    if (handle < 0)
        return trouble(path, "the pseudo-terminal cannot be opened");
    std::unique_ptr<Transport> pty = std::make_unique<Pty>(handle, path);
    // No TIOCEXCL here: it would outlive a killed driver for as long as the other end keeps the
    // terminal.
    if (const Status held = hold_alone(handle, path); !held)
        return held.error();
    if (const Status raw = make_raw(handle, path); !raw)
        return raw.error();
    return pty;
}

} // namespace dropledger::link
