#include "bench/io/descriptor.hpp"

#include <fmt/format.h>
#include <unistd.h>

#include <cerrno>
#include <system_error>

namespace dropledger::files {

namespace {

std::string remedy_for(int number) {
    switch (number) {
    case ENOENT:
    case ENOTDIR:
        return "check the spelling of the path; folders are not made for you";
    case EISDIR:
        return "name a file in it";
    case EACCES:
    case EPERM:
        return "ask for access, or use a place that is yours";
    case EROFS:
        return "choose a place that can be written to";
    case ENOSPC:
    case EDQUOT:
    case EFBIG:
        return "make room on the disk, or choose another place";
    case EIO:
        return "the disk or its connection is failing: copy what you need and replace it";
    default:
        return {};
    }
}

} // namespace

Descriptor::~Descriptor() {
    if (is_open())
        ::close(number_);
}

Descriptor& Descriptor::operator=(Descriptor&& other) noexcept {
    std::swap(number_, other.number_);
    return *this;
}

Error system_error(const std::string& path, const std::string& verb, int number) {
    // A path to read from that is not there is the typist's affair; one to write to is the
    // folder's.
    const bool reading = verb == "open" || verb == "read";
    const bool is_input = reading && (number == ENOENT || number == ENOTDIR || number == EISDIR);
    if (reading && number == ENOENT)
        return Error{ErrorKind::input, path, "there is no such file",
                     "check the spelling of the path"};
    if (reading && number == EISDIR)
        return Error{ErrorKind::input, path, "it is a folder", remedy_for(number)};
    return Error{is_input ? ErrorKind::input : ErrorKind::device, path,
                 fmt::format("cannot {} it: {}", verb, std::generic_category().message(number)),
                 remedy_for(number)};
}

} // namespace dropledger::files
