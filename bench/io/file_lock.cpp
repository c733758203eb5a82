#include "bench/io/file_lock.hpp"

#include <fcntl.h>
#include <sys/file.h>
#include <sys/stat.h>

#include <cerrno>
#include <chrono>
#include <thread>

namespace dropledger::files {

namespace {

constexpr std::chrono::milliseconds between{10};
constexpr int most_attempts = 12'000; // two minutes

bool is_still(const std::string& path, int number) {
    struct stat there {};
    struct stat ours {};
    return ::stat(path.c_str(), &there) == 0 && ::fstat(number, &ours) == 0 &&
           there.st_dev == ours.st_dev && there.st_ino == ours.st_ino;
}

} // namespace

Result<FileLock> FileLock::hold(const std::string& path) {
    for (int i = 0; i < most_attempts; ++i) {
        // Without O_NONBLOCK a named pipe would be waited for.
        Descriptor file{::open(path.c_str(), O_RDONLY | O_CLOEXEC | O_NONBLOCK)};
        if (!file.is_open())
            return system_error(path, "open", errno);
        if (::flock(file.number(), LOCK_EX | LOCK_NB) == 0) {
            if (is_still(path, file.number()))
                return FileLock{std::move(file)};
            continue; // replaced by whom we waited for
        }
        if (errno != EWOULDBLOCK && errno != EINTR)
            return system_error(path, "lock", errno);
        std::this_thread::sleep_for(between);
    }
    return device_error(path, "another program keeps it locked",
                        "wait for it to end, then try again");
}

} // namespace dropledger::files
