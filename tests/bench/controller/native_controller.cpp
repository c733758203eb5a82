// native_controller: the controller's core in this process, on a pseudo-terminal or on standard input and output, with a belt and
// seeds around it (small_bench.hpp), in real time.
//
// usage: native_controller [--stdio]. The first line on standard output ends with the port. Ends when standard input ends
// (--stdio) or by a signal.
#include "small_bench.hpp"

#include <chrono>
#include <cstdio>
#include <poll.h>
#include <pty.h>
#include <string>
#include <string_view>
#include <termios.h>
#include <thread>
#include <unistd.h>

namespace {

using dropledger::controller::SmallBench;
using Clock = std::chrono::steady_clock;

struct Ends {
    int in;
    int out;
};

// The other end is held open too, so that a host may come and go.
Ends pseudo_terminal() {
    int ours = -1;
    int theirs = -1;
    char name[64];
    if (::openpty(&ours, &theirs, name, nullptr, nullptr) != 0)
        return {-1, -1};
    termios raw{};
    ::tcgetattr(theirs, &raw);
    ::cfmakeraw(&raw);
    ::tcsetattr(theirs, TCSANOW, &raw);
    std::printf("port %s\n", name);
    std::fflush(stdout);
    return {ours, ours};
}

// False where the other end has gone for good.
bool take_in(int handle, SmallBench& bench) {
    pollfd ready{.fd = handle, .events = POLLIN, .revents = 0};
    if (::poll(&ready, 1, 2) <= 0)
        return true;
    char bytes[512];
    const auto size = ::read(handle, bytes, sizeof bytes);
    if (size <= 0)
        return false;
    bench.hear(std::string_view(bytes, static_cast<std::size_t>(size)));
    return true;
}

bool give_out(int handle, std::string_view bytes) {
    while (!bytes.empty()) {
        const auto size = ::write(handle, bytes.data(), bytes.size());
        if (size <= 0)
            return false;
        bytes.remove_prefix(static_cast<std::size_t>(size));
    }
    return true;
}

int serve(Ends ends, const std::string& boot) {
    SmallBench bench(5000, boot.c_str());
    const auto began = Clock::now();
    while (take_in(ends.in, bench)) {
        const auto passed =
            std::chrono::duration_cast<std::chrono::microseconds>(Clock::now() - began).count();
        while (bench.now_us() + SmallBench::step_us <= static_cast<std::uint32_t>(passed))
            bench.advance(SmallBench::step_us);
        if (!give_out(ends.out, bench.take()))
            break;
    }
    return 0;
}

} // namespace

int main(int count, char** words) {
    const bool pipes = count > 1 && std::string_view(words[1]) == "--stdio";
    const Ends ends = pipes ? Ends{STDIN_FILENO, STDOUT_FILENO} : pseudo_terminal();
    if (ends.in < 0)
        return 74;
    return serve(ends, "native-" + std::to_string(::getpid()));
}
