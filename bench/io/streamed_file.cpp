#include "bench/io/streamed_file.hpp"

#include "bench/io/write_fully.hpp"

#include <fcntl.h>
#include <sys/stat.h>

#include <cerrno>

namespace dropledger::files {

namespace {

constexpr std::size_t at_once = std::size_t{1} << 16U; // bytes

} // namespace

Result<StreamedFile> StreamedFile::create(const std::string& path, Place place) {
    StreamedFile made(path, place);
    struct stat about {};
    const bool exists = ::stat(path.c_str(), &about) == 0;
    if (exists && S_ISDIR(about.st_mode))
        return system_error(path, "create", EISDIR);
    if (exists && !S_ISREG(about.st_mode)) {
        made.device_.emplace(::open(path.c_str(), O_WRONLY | O_CLOEXEC));
        if (!made.device_->is_open())
            return system_error(path, "create", errno);
        return made;
    }
    auto aside = AsideFile::beside(real_path(path), everyone_by_umask);
    if (!aside)
        return aside.error();
    made.aside_ = *std::move(aside);
    return made;
}

int StreamedFile::number() const {
    return aside_ ? aside_->number() : device_->number();
}

void StreamedFile::flush() {
    if (problem_ == 0)
        problem_ = write_fully(number(), waiting_);
    waiting_.clear();
}

void StreamedFile::write(std::string_view bytes) {
    waiting_.append(bytes);
    if (waiting_.size() >= at_once)
        flush();
}

Status StreamedFile::finish() {
    flush();
    if (problem_ != 0)
        return system_error(path_, "write", problem_);
    return aside_ ? aside_->put_in_place(place_) : Status{Done{}};
}

} // namespace dropledger::files
