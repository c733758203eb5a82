#include "bench/commands/shell/child.hpp"

#include <array>
#include <cerrno>
#include <csignal>
#include <cstring>
#include <fcntl.h>
#include <fmt/format.h>
#include <fstream>
#include <spawn.h>
#include <sys/wait.h>
#include <unistd.h>
#include <utility>

namespace dropledger::cli {

namespace {

Error no_child(int problem) {
    return device_error("starting a second process", std::strerror(problem),
                        "end other programs and try again");
}

int exit_status_of(int status) {
    return WIFEXITED(status) ? WEXITSTATUS(status) : 128 + WTERMSIG(status);
}

} // namespace

Result<Child> Child::start(const std::vector<std::string>& arguments, bool read_output,
                           bool errors_too) {
    std::array<int, 2> ends{-1, -1};
    if (read_output && ::pipe2(ends.data(), O_CLOEXEC) != 0)
        return no_child(errno);
    posix_spawn_file_actions_t actions;
    ::posix_spawn_file_actions_init(&actions);
    if (read_output)
        ::posix_spawn_file_actions_adddup2(&actions, ends[1], STDOUT_FILENO);
    if (read_output && errors_too)
        ::posix_spawn_file_actions_adddup2(&actions, ends[1], STDERR_FILENO);
    std::vector<std::string> words{"dropledger"};
    words.insert(words.end(), arguments.begin(), arguments.end());
    std::vector<char*> argv;
    argv.reserve(words.size() + 1);
    for (std::string& word : words)
        argv.push_back(word.data());
    argv.push_back(nullptr);
    pid_t process = -1;
    const int problem =
        ::posix_spawn(&process, "/proc/self/exe", &actions, nullptr, argv.data(), environ);
    ::posix_spawn_file_actions_destroy(&actions);
    if (read_output)
        ::close(ends[1]);
    if (problem != 0) {
        if (read_output)
            ::close(ends[0]);
        return no_child(problem);
    }
    return Child{process, ends[0]};
}

Child::Child(Child&& other) noexcept
    : process_(std::exchange(other.process_, -1)), output_(std::exchange(other.output_, -1)) {
}

Child::~Child() {
    if (process_ > 0) {
        ::kill(process_, SIGTERM);
        static_cast<void>(wait());
    }
    if (output_ >= 0)
        ::close(output_);
}

// Source: proc(5), /proc/PID/io: "rchar: 12345".
std::uint64_t Child::bytes_read() const {
    std::ifstream told(fmt::format("/proc/{}/io", process_));
    std::string name;
    std::uint64_t bytes = 0;
    return told >> name >> bytes && name == "rchar:" ? bytes : 0;
}

void Child::ask_to_end() const {
    if (process_ > 0)
        ::kill(process_, SIGTERM);
}

std::string Child::rest() {
    std::string text;
    std::array<char, 4096> part{};
    ssize_t got = 0;
    while ((got = ::read(output_, part.data(), part.size())) > 0 || (got < 0 && errno == EINTR))
        if (got > 0)
            text.append(part.data(), static_cast<std::size_t>(got));
    return text;
}

std::string Child::line() {
    std::string text;
    char c = 0;
    while (::read(output_, &c, 1) == 1 && c != '\n')
        text += c;
    return text;
}

int Child::wait() {
    int status = 0;
    pid_t ended = -1;
    do
        ended = ::waitpid(process_, &status, 0);
    while (ended < 0 && errno == EINTR);
    process_ = -1;
    return ended < 0 ? 128 : exit_status_of(status);
}

} // namespace dropledger::cli
