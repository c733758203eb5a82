#include "bench/io/write_aside.hpp"

#include "bench/io/aside_file.hpp"
#include "bench/io/descriptor.hpp"
#include "bench/io/write_fully.hpp"

#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cerrno>

namespace dropledger::files {

namespace {

Status put(const std::string& target, std::string_view content, mode_t mode, Place place) {
    auto aside = AsideFile::beside(target, mode);
    if (!aside)
        return aside.error();
    if (const int problem = write_fully(aside->number(), content); problem != 0)
        return system_error(target, "write", problem);
    return aside->put_in_place(place);
}

Status write_to_device(const std::string& path, std::string_view content) {
    const Descriptor opened{::open(path.c_str(), O_WRONLY | O_CLOEXEC)};
    const int problem = opened.is_open() ? write_fully(opened.number(), content) : errno;
    return problem == 0 ? Status{Done{}} : system_error(path, "write", problem);
}

} // namespace

Status write_file_aside(const std::string& path, std::string_view content) {
    struct stat about {};
    if (::stat(path.c_str(), &about) != 0)
        return put(path, content, everyone_by_umask, Place::replace);
    if (S_ISDIR(about.st_mode))
        return system_error(path, "write", EISDIR);
    if (!S_ISREG(about.st_mode))
        return write_to_device(path, content);
    return put(real_path(path), content, about.st_mode & everyone_by_umask, Place::replace);
}

Status write_new_file(const std::string& path, std::string_view content) {
    return put(path, content, everyone_by_umask, Place::fresh);
}

} // namespace dropledger::files
