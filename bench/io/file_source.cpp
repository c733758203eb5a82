#include "bench/io/file_source.hpp"

#include "bench/io/spool.hpp"

#include <fmt/format.h>

#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cerrno>

namespace dropledger::files {

namespace {

// What the first opening found out, kept for the next ones: a file from `at` on, or a pipe's spool.
struct Kept {
    std::shared_ptr<const Descriptor> file;
    std::int64_t at = 0;
    std::shared_ptr<Spool> spool;

    [[nodiscard]] bool is_open() const { return file || spool; }
};

std::unique_ptr<ByteSource> source(const Kept& kept, const std::string& name) {
    if (kept.spool)
        return std::make_unique<SpoolSource>(kept.spool);
    ::posix_fadvise(kept.file->number(), kept.at, 0, POSIX_FADV_SEQUENTIAL);
    return std::make_unique<FileSource>(kept.file, kept.at, name);
}

Result<Kept> keep(std::shared_ptr<const Descriptor> file, const std::string& name,
                  std::uint64_t most_spooled) {
    struct stat about {};
    if (::fstat(file->number(), &about) != 0)
        return system_error(name, "read", errno);
    if (S_ISDIR(about.st_mode))
        return system_error(name, "read", EISDIR);
    const auto at = ::lseek(file->number(), 0, SEEK_CUR);
    if (S_ISREG(about.st_mode) && at >= 0)
        return Kept{std::move(file), at, nullptr};
    return Spool::of(std::move(file), name, most_spooled).transform([](auto spool) {
        return Kept{nullptr, 0, std::move(spool)};
    });
}

template <class Open> OpenBytes kept_open(Open open, std::string name, std::uint64_t most_spooled) {
    return [open, name = std::move(name), most_spooled,
            kept = std::make_shared<Kept>()]() -> Result<std::unique_ptr<ByteSource>> {
        if (!kept->is_open()) {
            auto file = std::make_shared<const Descriptor>(open());
            if (!file->is_open())
                return system_error(name, "open", errno);
            auto found = keep(std::move(file), name, most_spooled);
            if (!found)
                return found.error();
            *kept = *std::move(found);
        }
        return source(*kept, name);
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
    return kept_open(open, path, most_spooled_bytes);
}

OpenBytes open_descriptor(int number, std::string name, std::uint64_t most_spooled) {
    const auto open = [number] { return ::fcntl(number, F_DUPFD_CLOEXEC, 0); };
    return kept_open(open, std::move(name), most_spooled);
}

namespace {

class LimitedSource final : public ByteSource {
public:
    LimitedSource(std::unique_ptr<ByteSource> source, std::string name, std::uint64_t most)
        : source_(std::move(source)), name_(std::move(name)), most_(most), left_(most) {}

    [[nodiscard]] Result<std::size_t> read(std::span<char> room) override {
        auto got = source_->read(room);
        if (got && *got > left_)
            return input_error(name_, fmt::format("over {} bytes, more than is read", most_),
                               "cut it into parts");
        left_ -= got ? *got : 0;
        return got;
    }

private:
    std::unique_ptr<ByteSource> source_;
    std::string name_;
    std::uint64_t most_;
    std::uint64_t left_;
};

} // namespace

OpenBytes limited(OpenBytes open, std::string name, std::uint64_t most) {
    return [open = std::move(open), name = std::move(name),
            most]() -> Result<std::unique_ptr<ByteSource>> {
        auto source = open();
        if (!source)
            return source.error();
        return std::unique_ptr<ByteSource>(
            std::make_unique<LimitedSource>(*std::move(source), name, most));
    };
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
