#include "bench/recorder/log_file.hpp"

#include "analysis/base/shell_word.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cerrno>
#include <cstring>
#include <filesystem>
#include <optional>
#include <utility>

#include <fcntl.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

namespace dropledger::recorder {

namespace {

Error trouble(const std::string& path, std::string_view what, int problem, std::string remedy) {
    return device_error(path, fmt::format("{} ({})", what, std::strerror(problem)),
                        std::move(remedy));
}

constexpr const char* written_over =
    "another program has written over the log while it was written";

std::string creation_remedy(int problem) {
    if (problem == EEXIST)
        return "a log is never overwritten: give another `log`, or go on in it with `resume`";
    if (problem == ENOENT || problem == ENOTDIR)
        return "make the folder first";
    return "choose a folder that can be written to with `log`";
}

Status sync_folder_of(const std::string& path) {
    const std::string parent = std::filesystem::path(path).parent_path().string();
    const int folder =
        ::open(parent.empty() ? "." : parent.c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    if (folder < 0)
        return trouble(path, "its folder cannot be opened", errno, "");
    // Some file systems cannot sync a folder; they say EINVAL and keep names in their own way.
    const bool synced = ::fsync(folder) == 0 || errno == EINVAL;
    const int problem = errno;
    ::close(folder);
    if (!synced)
        return trouble(path, "its folder cannot be synced", problem, "");
    return Done{};
}

// A file system whose times change by themselves would have us read the log again and again.
constexpr int most_false_alarms = 100;

std::array<std::int64_t, 4> times_of(const struct stat& file) {
    return {file.st_mtim.tv_sec, file.st_mtim.tv_nsec, file.st_ctim.tv_sec, file.st_ctim.tv_nsec};
}

// Of the first `size` bytes; nothing where there are fewer, or they cannot be read.
std::optional<Imprint> imprint_of(int handle, std::uint64_t size) {
    Imprint imprint;
    std::array<char, 1U << 16U> room{};
    for (std::uint64_t at = 0; at < size;) {
        const auto wanted = std::min<std::uint64_t>(room.size(), size - at);
        const ssize_t got = ::pread(handle, room.data(), wanted, static_cast<off_t>(at));
        if (got < 0 && errno == EINTR)
            continue;
        if (got <= 0)
            return std::nullopt;
        imprint.add({room.data(), static_cast<std::size_t>(got)});
        at += static_cast<std::uint64_t>(got);
    }
    return imprint;
}

Status lock(int handle, const std::string& path) {
    if (::flock(handle, LOCK_EX | LOCK_NB) == 0)
        return Done{};
    if (errno == EWOULDBLOCK)
        return trouble(path, "another run is writing this log", errno, "wait for its end");
    return trouble(path, "the log cannot be locked", errno, "write it to a disk of this machine");
}

} // namespace

LogFile::LogFile(int handle, std::string path, std::uint64_t size)
    : handle_(handle), path_(std::move(path)), size_(size), synced_(size) {
}

LogFile::LogFile(LogFile&& other) noexcept
    : handle_(std::exchange(other.handle_, -1)), path_(std::move(other.path_)), size_(other.size_),
      synced_(other.synced_), waiting_(std::move(other.waiting_)), failed_(other.failed_),
      written_(other.written_), times_ns_(other.times_ns_), false_alarms_(other.false_alarms_) {
}

LogFile::~LogFile() {
    if (handle_ >= 0)
        ::close(handle_);
}

Status LogFile::may_create(const std::string& path) {
    namespace fs = std::filesystem;
    std::error_code unknown;
    const fs::path folder = fs::path(path).parent_path();
    if (fs::is_directory(path, unknown))
        return device_error(path, "it is a folder", "name a file in it with `log`");
    if (fs::exists(fs::symlink_status(path, unknown)))
        return trouble(path, "the log exists", EEXIST, creation_remedy(EEXIST));
    if (!folder.empty() && !fs::is_directory(folder, unknown))
        return trouble(path, "the log cannot be made", ENOENT, creation_remedy(ENOENT));
    if (::access(folder.empty() ? "." : folder.c_str(), W_OK) != 0)
        return trouble(path, "the log cannot be made", errno, creation_remedy(errno));
    return Done{};
}

Result<LogFile> LogFile::create(const std::string& path) {
    if (const Status free = may_create(path); !free)
        return free.error();
    const int handle = ::open(path.c_str(), O_RDWR | O_CREAT | O_EXCL | O_APPEND | O_CLOEXEC, 0644);
    if (handle < 0) {
        const int problem = errno;
        return trouble(path, problem == EEXIST ? "the log exists" : "the log cannot be made",
                       problem, creation_remedy(problem));
    }
    LogFile file{handle, path, 0};
    if (const Status locked = lock(handle, path); !locked)
        return locked.error();
    file.note_times();
    if (const Status synced = sync_folder_of(path); !synced) {
        static_cast<void>(file.remove());
        return synced.error();
    }
    return file;
}

Result<LogFile> LogFile::open_existing(const std::string& path) {
    const int handle = ::open(path.c_str(), O_RDWR | O_APPEND | O_CLOEXEC);
    if (handle < 0)
        return trouble(path, "the log cannot be opened for writing", errno, "check its name");
    LogFile file{handle, path, 0};
    if (const Status locked = lock(handle, path); !locked)
        return locked.error();
    return file;
}

Status LogFile::cut_to(std::uint64_t size) {
    if (::ftruncate(handle_, static_cast<off_t>(size)) != 0)
        return trouble(path_, "the torn last line cannot be cut off", errno, "");
    const auto kept = imprint_of(handle_, size);
    if (!kept)
        return trouble(path_, "the log cannot be read", errno, "");
    written_ = *kept;
    size_ = synced_ = size;
    note_times();
    return Done{};
}

void LogFile::add(std::string_view line_with_lf) {
    if (!failed_)
        waiting_ += line_with_lf;
}

Status LogFile::write() {
    std::string_view rest = waiting_;
    while (!rest.empty()) {
        const ssize_t written = ::write(handle_, rest.data(), rest.size());
        if (written < 0 && errno == EINTR)
            continue;
        if (written <= 0)
            return give_up(written == 0 ? ENOSPC : errno);
        rest.remove_prefix(static_cast<std::size_t>(written));
    }
    size_ += waiting_.size();
    written_.add(waiting_);
    waiting_.clear();
    note_times();
    return Done{};
}

void LogFile::note_times() {
    struct stat file {};
    if (::fstat(handle_, &file) == 0)
        times_ns_ = times_of(file);
}

// Bytes that are not ours are never cut off.
bool LogFile::cut_back(std::uint64_t size) {
    struct stat file {};
    if (::fstat(handle_, &file) != 0 || static_cast<std::uint64_t>(file.st_size) < size)
        return false;
    const bool cut = ::ftruncate(handle_, static_cast<off_t>(size)) == 0;
    ::fdatasync(handle_);
    return cut;
}

Error LogFile::give_up(int problem) {
    failed_ = true;
    waiting_.clear();
    Error error = trouble(path_, "the log cannot be written", problem,
                          "make room on the disk, then go on with `resume` " + shell_word(path_));
    if (!cut_back(size_))
        error.what += "; its last line is torn";
    return error;
}

// Until a sync succeeds the bytes since the last one may be anywhere: they are cut off, never to be
// acknowledged, and the controller still has them.
Status LogFile::sync() {
    if (::fdatasync(handle_) == 0) {
        synced_ = size_;
        return Done{};
    }
    const int problem = errno;
    failed_ = true;
    waiting_.clear();
    Error error = trouble(path_, "the log cannot be synced", problem,
                          "check the disk, then go on with `resume` " + shell_word(path_));
    if (how_touched().empty() && cut_back(synced_))
        size_ = synced_;
    else
        error.what += fmt::format("; its last {} bytes were never acknowledged", size_ - synced_);
    return error;
}

bool LogFile::holds_what_was_written() const {
    return imprint_of(handle_, size_) == written_;
}

std::string LogFile::how_touched() {
    struct stat ours {};
    struct stat there {};
    if (::fstat(handle_, &ours) != 0)
        return fmt::format("the log cannot be looked at ({})", std::strerror(errno));
    if (::stat(path_.c_str(), &there) != 0)
        return "the log was moved or deleted while it was written";
    if (there.st_ino != ours.st_ino || there.st_dev != ours.st_dev)
        return "another file stands in the log's place";
    const auto size = static_cast<std::uint64_t>(ours.st_size);
    if (size != size_)
        return fmt::format("another program has {} the log while it was written",
                           size < size_ ? "cut" : "added to");
    if (times_of(ours) == times_ns_ || false_alarms_ >= most_false_alarms)
        return {};
    if (!holds_what_was_written())
        return written_over;
    times_ns_ = times_of(ours); // somebody linked it, or changed its mode
    ++false_alarms_;
    return {};
}

Status LogFile::unchanged() {
    std::string how = how_touched();
    if (how.empty() && !holds_what_was_written())
        how = written_over;
    return judged(std::move(how));
}

Status LogFile::untouched() {
    return judged(how_touched());
}

Status LogFile::judged(std::string how) {
    if (how.empty())
        return Done{};
    failed_ = true;
    waiting_.clear();
    return device_error(
        path_, std::move(how),
        "leave a log alone while its run is on; put the file back as it was, then go on "
        "with: `resume` " +
            shell_word(path_));
}

Status LogFile::remove() {
    failed_ = true;
    waiting_.clear();
    if (const std::string how = how_touched(); !how.empty())
        return device_error(path_, how, "it was left as it is");
    if (::unlink(path_.c_str()) != 0)
        return trouble(path_, "the empty log cannot be removed", errno, "");
    return Done{};
}

} // namespace dropledger::recorder
