#include "bench/recorder/log_file.hpp"

#include <fmt/format.h>

#include <cerrno>
#include <cstring>
#include <filesystem>
#include <utility>

#include <fcntl.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

namespace dropledger::recorder {

namespace {

Error trouble(const std::string& path, std::string_view what, int problem, std::string remedy) {
    return {ErrorKind::device, path, fmt::format("{} ({})", what, std::strerror(problem)),
            std::move(remedy)};
}

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

Status lock(int handle, const std::string& path) {
    if (::flock(handle, LOCK_EX | LOCK_NB) == 0)
        return Done{};
    return trouble(path, "another run is writing this log", errno, "wait for its end");
}

} // namespace

LogFile::LogFile(int handle, std::string path, std::uint64_t size)
    : handle_(handle), path_(std::move(path)), size_(size), synced_(size) {
}

LogFile::LogFile(LogFile&& other) noexcept
    : handle_(std::exchange(other.handle_, -1)), path_(std::move(other.path_)), size_(other.size_),
      synced_(other.synced_), waiting_(std::move(other.waiting_)), failed_(other.failed_) {
}

LogFile::~LogFile() {
    if (handle_ >= 0)
        ::close(handle_);
}

Result<LogFile> LogFile::create(const std::string& path) {
    const int handle =
        ::open(path.c_str(), O_WRONLY | O_CREAT | O_EXCL | O_APPEND | O_CLOEXEC, 0644);
    if (handle < 0) {
        const int problem = errno;
        return trouble(path, problem == EEXIST ? "the log exists" : "the log cannot be made",
                       problem, creation_remedy(problem));
    }
    LogFile file{handle, path, 0};
    if (const Status locked = lock(handle, path); !locked)
        return locked.error();
    if (const Status synced = sync_folder_of(path); !synced)
        return synced.error();
    return file;
}

Result<LogFile> LogFile::open_existing(const std::string& path) {
    const int handle = ::open(path.c_str(), O_WRONLY | O_APPEND | O_CLOEXEC);
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
    size_ = synced_ = size;
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
    waiting_.clear();
    return Done{};
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
                          "make room on the disk, then go on with `resume` " + path_);
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
                          "check the disk, then go on with `resume` " + path_);
    if (how_touched().empty() && cut_back(synced_))
        size_ = synced_;
    else
        error.what += fmt::format("; its last {} bytes were never acknowledged", size_ - synced_);
    return error;
}

std::string LogFile::how_touched() const {
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
    return {};
}

Status LogFile::untouched() {
    std::string how = how_touched();
    if (how.empty())
        return Done{};
    failed_ = true;
    waiting_.clear();
    return Error{ErrorKind::device, path_, std::move(how),
                 "leave a log alone while its run is on; put the file back as it was, then go on "
                 "with: `resume` " +
                     path_};
}

Status LogFile::remove() {
    failed_ = true;
    waiting_.clear();
    if (const std::string how = how_touched(); !how.empty())
        return Error{ErrorKind::device, path_, how, "it was left as it is"};
    if (::unlink(path_.c_str()) != 0)
        return trouble(path_, "the empty log cannot be removed", errno, "");
    return Done{};
}

} // namespace dropledger::recorder
