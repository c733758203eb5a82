#include "bench/io/spool.hpp"

#include "bench/io/write_fully.hpp"

#include <fmt/format.h>

#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <cstdlib>
#include <fcntl.h>
#include <filesystem>

namespace dropledger::files {

namespace {

Result<Descriptor> temporary_file() {
    std::error_code problem;
    const auto folder = std::filesystem::temp_directory_path(problem);
    std::string path = problem ? "/tmp" : folder.string();
    path += "/dropledger-XXXXXX";
    Descriptor file{::mkostemp(path.data(), O_CLOEXEC)};
    if (!file.is_open())
        return system_error(path, "make a temporary file of", errno);
    ::unlink(path.c_str());
    return file;
}

} // namespace

Result<std::shared_ptr<Spool>> Spool::of(std::shared_ptr<const Descriptor> from, std::string name,
                                         std::uint64_t most) {
    auto kept = temporary_file();
    if (!kept)
        return kept.error();
    return std::shared_ptr<Spool>(
        new Spool(std::move(from), *std::move(kept), std::move(name), most));
}

Result<std::size_t> Spool::read(std::span<char> room, std::uint64_t at) {
    const std::lock_guard lock(mutex_);
    return at < size_ ? again(room, at) : more(room);
}

Result<std::size_t> Spool::again(std::span<char> room, std::uint64_t at) const {
    const auto wanted = std::min<std::uint64_t>(room.size(), size_ - at);
    for (;;) {
        const auto got =
            ::pread(kept_.number(), room.data(), wanted, static_cast<std::int64_t>(at));
        if (got < 0 && errno == EINTR)
            continue;
        if (got < 0)
            return system_error(name_, "read", errno);
        return static_cast<std::size_t>(got);
    }
}

Result<std::size_t> Spool::more(std::span<char> room) {
    for (;;) {
        const auto got = ::read(from_->number(), room.data(), room.size());
        if (got < 0 && errno == EINTR)
            continue;
        if (got < 0)
            return system_error(name_, "read", errno);
        const auto count = static_cast<std::size_t>(got);
        if (count > most_ - size_)
            return input_error(
                name_, fmt::format("over {} bytes and no end, more than is kept aside", most_),
                "write it into a file and name that");
        if (const int problem = write_fully(kept_.number(), {room.data(), count}))
            return system_error(name_, "copy to a temporary file (see TMPDIR)", problem);
        size_ += count;
        return count;
    }
}

Result<std::size_t> SpoolSource::read(std::span<char> room) {
    auto got = spool_->read(room, at_);
    if (got)
        at_ += *got;
    return got;
}

} // namespace dropledger::files
