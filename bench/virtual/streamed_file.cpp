#include "bench/virtual/streamed_file.hpp"

#include "bench/io/descriptor.hpp"

#include <cerrno>
#include <cstdio>

namespace dropledger::bench_virtual {

namespace {

std::string aside(const std::string& path) {
    return path + ".part";
}

} // namespace

Result<StreamedFile> StreamedFile::create(const std::string& path) {
    std::ofstream stream(aside(path), std::ios::binary | std::ios::trunc);
    if (!stream)
        return files::system_error(aside(path), "create", errno);
    return StreamedFile(path, std::move(stream));
}

Status StreamedFile::finish() {
    stream_.close();
    if (!stream_)
        return files::system_error(aside(path_), "write", errno);
    if (std::rename(aside(path_).c_str(), path_.c_str()) != 0)
        return files::system_error(path_, "replace", errno);
    return Done{};
}

} // namespace dropledger::bench_virtual
