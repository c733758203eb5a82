// The file under a run: made anew and never over an old one, appended to, synced, cut back when the
// disk refuses: to its last whole line when it takes no more, to its last synced byte when a sync
// fails, because nobody knows what became of the bytes after it.
//
// Assumes: lines are added whole, with their LF. After a failure nothing more is written. Nobody
// else writes the file. untouched() finds whoever does, by name, size and times of change; where a
// time is not that of our own last write, the file is read and compared. What is written over
// within one tick of the file system's clock (4 ms, say) leaves no trace there: unchanged() reads
// in any case.
#pragma once

#include "bench/recorder/imprint.hpp"

#include "analysis/base/result.hpp"

#include <array>
#include <cstdint>
#include <string>
#include <string_view>

namespace dropledger::recorder {

class LogFile {
public:
    // What create() would fail with, as far as it can be seen beforehand.
    [[nodiscard]] static Status may_create(const std::string& path);
    // Fails where the file exists; the folder is synced so that the name survives a power cut.
    [[nodiscard]] static Result<LogFile> create(const std::string& path);
    // An existing log, held alone; say with cut_to where it goes on.
    [[nodiscard]] static Result<LogFile> open_existing(const std::string& path);

    LogFile(LogFile&& other) noexcept;
    LogFile& operator=(LogFile&&) = delete;
    ~LogFile();

    [[nodiscard]] Status cut_to(std::uint64_t size); // keeps the first `size` bytes
    void add(std::string_view line_with_lf);         // into memory
    [[nodiscard]] Status write();  // memory to the file; whole lines or none of the rest
    [[nodiscard]] Status sync();   // what is written to stable storage
    [[nodiscard]] Status remove(); // a log in which nothing happened; only where it is still ours
    // Fails where the file was moved, deleted, replaced, or is not what was written.
    [[nodiscard]] Status untouched();
    // The same, but reads it whole whatever its times say; takes as long as it is large.
    [[nodiscard]] Status unchanged();

    [[nodiscard]] const std::string& path() const { return path_; }
    [[nodiscard]] std::uint64_t size() const { return size_; }

private:
    LogFile(int handle, std::string path, std::uint64_t size);
    [[nodiscard]] Error give_up(int problem);
    [[nodiscard]] bool cut_back(std::uint64_t size);
    [[nodiscard]] std::string how_touched(); // empty where it is as it should be
    [[nodiscard]] Status judged(std::string how);
    [[nodiscard]] bool holds_what_was_written() const;
    void note_times();

    int handle_;
    std::string path_;
    std::uint64_t size_;   // whole lines in the file
    std::uint64_t synced_; // of these, on stable storage
    std::string waiting_;
    bool failed_ = false;
    Imprint written_; // of the whole lines in the file
    std::array<std::int64_t, 4>
        times_ns_{};       // of the last change, in s and ns: of bytes, of anything
    int false_alarms_ = 0; // times changed, bytes not
};

} // namespace dropledger::recorder
