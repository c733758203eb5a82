#include "bench/io/file_source.hpp"

#include "bench/io/write_fully.hpp"

#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cerrno>
#include <filesystem>
#include <vector>

namespace dropledger::files {

namespace {

constexpr std::size_t copy_size = std::size_t{1} << 20U;

Result<std::shared_ptr<const Descriptor>> temporary_file() {
    std::error_code problem;
    const auto folder = std::filesystem::temp_directory_path(problem);
    std::string path = problem ? "/tmp" : folder.string();
    path += "/dropledger-XXXXXX";
    const auto file = std::make_shared<const Descriptor>(::mkostemp(path.data(), O_CLOEXEC));
    if (!file->is_open())
        return system_error(path, "make a temporary file of", errno);
    ::unlink(path.c_str());
    return file;
}

Status copy(int from, int to, const std::string& name) {
    std::vector<char> bytes(copy_size);
    for (;;) {
        const auto got = ::read(from, bytes.data(), bytes.size());
        if (got < 0 && errno == EINTR)
            continue;
        if (got < 0)
            return system_error(name, "read", errno);
        if (got == 0)
            return Done{};
        if (const int problem = write_fully(to, {bytes.data(), static_cast<std::size_t>(got)}))
            return system_error(name, "copy to a temporary file (see TMPDIR)", problem);
    }
}

Result<std::shared_ptr<const Descriptor>> spooled(int from, const std::string& name) {
    auto file = temporary_file();
    if (!file)
        return file;
    if (const Status copied = copy(from, (*file)->number(), name); !copied)
        return copied.error();
    return file;
}

std::unique_ptr<ByteSource> source(std::shared_ptr<const Descriptor> file, std::int64_t at,
                                   const std::string& name) {
    ::posix_fadvise(file->number(), at, 0, POSIX_FADV_SEQUENTIAL);
    return std::make_unique<FileSource>(std::move(file), at, name);
}

// What the first opening found out, kept for the next ones.
struct Kept {
    std::shared_ptr<const Descriptor> file;
    std::int64_t at = 0;
};

Result<Kept> keep(std::shared_ptr<const Descriptor> file, const std::string& name) {
    struct stat about {};
    if (::fstat(file->number(), &about) != 0)
        return system_error(name, "read", errno);
    if (S_ISDIR(about.st_mode))
        return system_error(name, "read", EISDIR);
    const auto at = ::lseek(file->number(), 0, SEEK_CUR);
    if (S_ISREG(about.st_mode) && at >= 0)
        return Kept{std::move(file), at};
    auto copied = spooled(file->number(), name);
    if (!copied)
        return copied.error();
    return Kept{std::move(*copied), 0};
}

template <class Open> OpenBytes kept_open(Open open, std::string name) {
    return [open, name = std::move(name),
            kept = std::make_shared<Kept>()]() -> Result<std::unique_ptr<ByteSource>> {
        if (!kept->file) {
            auto file = std::make_shared<const Descriptor>(open());
            if (!file->is_open())
                return system_error(name, "open", errno);
            auto found = keep(std::move(file), name);
            if (!found)
                return found.error();
            *kept = std::move(*found);
        }
        return source(kept->file, kept->at, name);
    };
}

} // namespace

FileSource::FileSource(std::shared_ptr<const Descriptor> file, std::int64_t at, std::string name)
    : file_(std::move(file)), at_(at), name_(std::move(name)) {
}

Result<std::size_t> FileSource::read(std::span<char> room) {
    for (;;) {
        const auto got = ::pread(file_->number(), room.data(), room.size(), at_);
        if (got < 0 && errno == EINTR)
            continue;
        if (got < 0)
            return system_error(name_, "read", errno);
        at_ += got;
        return static_cast<std::size_t>(got);
    }
}

OpenBytes open_file(const std::string& path) {
    if (path == "-")
        return open_descriptor(STDIN_FILENO, "standard input");
    const auto open = [path] { return ::open(path.c_str(), O_RDONLY | O_CLOEXEC); };
    return kept_open(open, path);
}

OpenBytes open_descriptor(int number, std::string name) {
    const auto open = [number] { return ::fcntl(number, F_DUPFD_CLOEXEC, 0); };
    return kept_open(open, std::move(name));
}

Result<std::string> whole_file(const std::string& path, std::size_t most) {
    const auto source = open_file(path)();
    if (!source)
        return source.error();
    auto text = read_whole(**source, most);
    if (!text && text.error().where.empty())
        return Error{text.error().kind, path, text.error().what, text.error().remedy};
    return text;
}

} // namespace dropledger::files
