#include "bench/io/write_aside.hpp"

#include "bench/io/descriptor.hpp"
#include "bench/io/write_fully.hpp"

#include <fcntl.h>
#include <fmt/format.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cerrno>
#include <filesystem>

namespace dropledger::files {

namespace {

namespace fs = std::filesystem;

constexpr mode_t everyone_by_umask = 0666;

// 0, or the system's error number. The descriptor is closed here: some systems tell a full disk
// only then.
int written(int number, std::string_view content, bool sync) {
    int problem = number < 0 ? errno : write_fully(number, content);
    if (problem == 0 && sync && ::fsync(number) != 0)
        problem = errno;
    if (number >= 0 && ::close(number) != 0 && problem == 0)
        problem = errno;
    return problem;
}

// The name is safe only once its folder is synced; where a file system cannot, the rename must do.
void sync_folder(const fs::path& folder) {
    const Descriptor opened{::open(folder.c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC)};
    if (opened.is_open())
        ::fsync(opened.number());
}

int replaced(const fs::path& target, std::string_view content, mode_t mode) {
    const fs::path folder = target.has_parent_path() ? target.parent_path() : fs::path{"."};
    const fs::path aside =
        folder / fmt::format(".{}.{}.part", target.filename().string(), ::getpid());
    const int number = ::open(aside.c_str(), O_WRONLY | O_CREAT | O_TRUNC | O_CLOEXEC, mode);
    int problem = written(number, content, true);
    if (problem == 0 && ::rename(aside.c_str(), target.c_str()) != 0)
        problem = errno;
    if (problem != 0)
        ::unlink(aside.c_str());
    else
        sync_folder(folder);
    return problem;
}

} // namespace

Status write_file_aside(const std::string& path, std::string_view content) {
    struct stat about {};
    const bool exists = ::stat(path.c_str(), &about) == 0;
    if (exists && S_ISDIR(about.st_mode))
        return system_error(path, "write", EISDIR);
    int problem = 0;
    if (exists && !S_ISREG(about.st_mode)) {
        problem = written(::open(path.c_str(), O_WRONLY | O_CLOEXEC), content, false);
    } else {
        std::error_code unresolved;
        const fs::path real = exists ? fs::canonical(path, unresolved) : fs::path{path};
        problem = replaced(unresolved ? fs::path{path} : real, content,
                           exists ? about.st_mode & everyone_by_umask : everyone_by_umask);
    }
    if (problem != 0)
        return system_error(path, "write", problem);
    return Done{};
}

} // namespace dropledger::files
