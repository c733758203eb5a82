#include "bench/io/run_counter.hpp"

#include "analysis/base/text.hpp"
#include "analysis/droplog/line.hpp"
#include "bench/io/descriptor.hpp"
#include "bench/io/file_lock.hpp"
#include "bench/io/file_source.hpp"
#include "bench/io/write_aside.hpp"

#include <fcntl.h>
#include <fmt/format.h>
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <filesystem>
#include <string_view>

namespace dropledger::files {

namespace {

constexpr std::string_view head = "dropledger run counter, version 1\n";
constexpr std::size_t most_bytes = 4096;
constexpr std::size_t seal_digits = 64;

std::string counter_of(const std::string& key_file) {
    return key_file + ".runs";
}

Error damaged(const std::string& path) {
    return input_error(path, "the run counter is damaged",
                       "put back a copy of it; to begin the count anew, delete it: certificates "
                       "will show that");
}

// The latest run's number and seal; none where no run was made.
Result<RunTicket> latest(const std::string& path) {
    std::error_code ignored;
    if (!std::filesystem::exists(path, ignored))
        return RunTicket{0, std::string(seal_digits, '0')};
    const auto text = whole_file(path, most_bytes);
    if (!text)
        return text.error();
    if (!text->starts_with(head) || text->back() != '\n')
        return damaged(path);
    const std::string line = text->substr(head.size(), text->size() - head.size() - 1);
    const auto parts = split(line, ' ');
    const auto number = parse_int(parts.front());
    if (parts.size() != 2 || !number || *number < 0 || parts[1].size() != seal_digits)
        return damaged(path);
    return RunTicket{*number, std::string{parts[1]}};
}

Status write(const std::string& path, const RunTicket& ticket) {
    return write_file_aside(path,
                            fmt::format("{}{} {}\n", head, ticket.number, ticket.previous_seal));
}

// The lines of a piece of a log; torn ones at its ends are none.
template <class Take> void each_line(std::string_view text, Take take) {
    for (const std::string_view line : split(text, '\n'))
        if (const auto body = droplog::checked_body(line))
            take(droplog::fields_of(*body));
}

struct Ends {
    std::string first;
    std::string last;
};
Result<Ends> ends_of(const std::string& log) {
    constexpr std::size_t settings_bytes = std::size_t{64} << 10U;
    constexpr std::size_t tail_bytes = 4096;
    const Descriptor file{::open(log.c_str(), O_RDONLY | O_CLOEXEC)};
    struct stat about {};
    if (!file.is_open() || ::fstat(file.number(), &about) != 0)
        return system_error(log, "open", errno);
    const auto piece = [&](std::size_t size, off_t at) {
        std::string text(size, '\0');
        const ssize_t got = ::pread(file.number(), text.data(), text.size(), at);
        text.resize(static_cast<std::size_t>(std::max<ssize_t>(got, 0)));
        return text;
    };
    return Ends{piece(settings_bytes, 0),
                piece(tail_bytes, std::max<off_t>(0, about.st_size - off_t{tail_bytes}))};
}

} // namespace

Result<RunTicket> take_run_number(const std::string& key_file) {
    const auto lock = FileLock::hold(key_file);
    if (!lock)
        return lock.error();
    auto ticket = latest(counter_of(key_file));
    if (!ticket)
        return ticket.error();
    ++ticket->number;
    const RunTicket begun{ticket->number, std::string(seal_digits, '0')};
    if (const Status kept = write(counter_of(key_file), begun); !kept)
        return kept.error();
    return ticket;
}

Status note_last_seal(const std::string& key_file, const std::string& log) {
    const auto ends = ends_of(log);
    if (!ends)
        return ends.error();
    std::optional<std::int64_t> number;
    each_line(ends->first, [&](const std::vector<std::string_view>& fields) {
        if (fields.size() == 3 && fields[0] == "@set" && fields[1] == "run_number")
            number = parse_int(fields[2]);
    });
    std::string seal;
    bool closed = false;
    each_line(ends->last, [&](const std::vector<std::string_view>& fields) {
        closed = fields[0] == "@close";
        if (fields.size() == 3 && fields[0] == "@seal")
            seal = fields[2];
    });
    const auto lock = FileLock::hold(key_file);
    if (!lock)
        return lock.error();
    const auto now = latest(counter_of(key_file));
    if (!now)
        return now.error();
    if (!number || *number != now->number || !closed || seal.size() != seal_digits)
        return Done{};
    return write(counter_of(key_file), {now->number, seal});
}

} // namespace dropledger::files
