#include "bench/io/aside_file.hpp"

#include "bench/io/descriptor.hpp"

#include <fcntl.h>
#include <fmt/format.h>
#include <unistd.h>

#include <cerrno>
#include <cstdint>
#include <cstdio>
#include <filesystem>
#include <utility>

namespace dropledger::files {

namespace {

namespace fs = std::filesystem;

fs::path folder_of(const fs::path& target) {
    return target.has_parent_path() ? target.parent_path() : fs::path{"."};
}

// The name is safe only once its folder is synced; where a file system cannot, the rename must do.
void sync_folder(const fs::path& folder) {
    const Descriptor opened{::open(folder.c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC)};
    if (opened.is_open())
        ::fsync(opened.number());
}

// Some file systems know no rename that refuses to replace; a second name does the same there.
int rename_where_nothing_is(const std::string& from, const std::string& to) {
    if (::renameat2(AT_FDCWD, from.c_str(), AT_FDCWD, to.c_str(), RENAME_NOREPLACE) == 0)
        return 0;
    if (errno != EINVAL && errno != ENOSYS)
        return errno;
    if (::link(from.c_str(), to.c_str()) != 0)
        return errno;
    ::unlink(from.c_str());
    return 0;
}

int renamed(const std::string& from, const std::string& to, Place place) {
    if (place == Place::fresh)
        return rename_where_nothing_is(from, to);
    return ::rename(from.c_str(), to.c_str()) == 0 ? 0 : errno;
}

} // namespace

std::string real_path(const std::string& path) {
    std::error_code unresolved;
    const fs::path real = fs::canonical(path, unresolved);
    return unresolved ? path : real.string();
}

Result<AsideFile> AsideFile::beside(const std::string& target, mode_t mode) {
    constexpr int attempts = 8;
    constexpr std::size_t longest_name = 200; // a name has 255 bytes at most
    const fs::path path = target;
    int problem = EEXIST;
    for (int i = 0; i < attempts && problem == EEXIST; ++i) {
        std::uint64_t drawn = 0;
        if (::getentropy(&drawn, sizeof drawn) != 0)
            return system_error(target, "get random bytes for", errno);
        const std::string name =
            (folder_of(path) / fmt::format(".{}.{:016x}.part",
                                           path.filename().string().substr(0, longest_name), drawn))
                .string();
        const int number =
            ::open(name.c_str(), O_WRONLY | O_CREAT | O_EXCL | O_NOFOLLOW | O_CLOEXEC, mode);
        if (number >= 0)
            return AsideFile{target, name, number};
        problem = errno;
    }
    return system_error(target, "write", problem);
}

AsideFile::AsideFile(AsideFile&& other) noexcept
    : target_(std::move(other.target_)), path_(std::exchange(other.path_, {})),
      number_(std::exchange(other.number_, -1)) {
}

AsideFile& AsideFile::operator=(AsideFile&& other) noexcept {
    std::swap(target_, other.target_);
    std::swap(path_, other.path_);
    std::swap(number_, other.number_);
    return *this;
}

AsideFile::~AsideFile() {
    if (number_ >= 0)
        ::close(number_);
    if (!path_.empty())
        ::unlink(path_.c_str());
}

Status AsideFile::put_in_place(Place place) {
    int problem = ::fsync(number_) == 0 ? 0 : errno;
    // some systems tell a full disk only when the file is closed
    if (::close(std::exchange(number_, -1)) != 0 && problem == 0)
        problem = errno;
    if (problem == 0)
        problem = renamed(path_, target_, place);
    if (problem == EEXIST)
        return usage_error(target_, "it is there already and is not replaced", "name another file");
    if (problem != 0)
        return system_error(target_, "write", problem);
    path_.clear();
    sync_folder(folder_of(target_));
    return Done{};
}

} // namespace dropledger::files
