#include "bench/recorder/log_file.hpp"

#include <fmt/format.h>

#include <cerrno>
#include <cstring>
#include <filesystem>

#include <fcntl.h>
#include <sys/file.h>
#include <unistd.h>

namespace dropledger::recorder {

namespace {

Error trouble(const std::string& path, std::string_view what, int problem, std::string remedy) {
    return {ErrorKind::device, path, fmt::format("{} ({})", what, std::strerror(problem)),
            std::move(remedy)};
}

std::string creation_remedy(int problem) {
    if (problem == EEXIST)
        return "a log is never overwritten: give another --log, or go on in it with --resume";
    if (problem == ENOENT || problem == ENOTDIR)
        return "make the folder first";
    return "choose a folder that can be written to with --log";
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
    : handle_(handle), path_(std::move(path)), size_(size) {
}

LogFile::LogFile(LogFile&& other) noexcept
    : handle_(std::exchange(other.handle_, -1)), path_(std::move(other.path_)), size_(other.size_),
      waiting_(std::move(other.waiting_)), failed_(other.failed_) {
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
    size_ = size;
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

Error LogFile::give_up(int problem) {
    failed_ = true;
    waiting_.clear();
    const bool cut = ::ftruncate(handle_, static_cast<off_t>(size_)) == 0;
    ::fdatasync(handle_);
    Error error =
        trouble(path_, "the log cannot be written", problem,
                "make room on the disk, then go on with: dropledger run --resume " + path_);
    if (!cut)
        error.what += "; its last line is torn";
    return error;
}

Status LogFile::sync() {
    if (::fdatasync(handle_) == 0)
        return Done{};
    const int problem = errno;
    failed_ = true;
    return trouble(path_, "the log cannot be synced", problem,
                   "check the disk, then go on with: dropledger run --resume " + path_);
}

Status LogFile::remove() {
    failed_ = true;
    waiting_.clear();
    if (::unlink(path_.c_str()) != 0)
        return trouble(path_, "the empty log cannot be removed", errno, "");
    return Done{};
}

} // namespace dropledger::recorder
