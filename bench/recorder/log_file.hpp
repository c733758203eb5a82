// The file under a run: made anew and never over an old one, appended to, synced, cut back to its
// last whole line when the disk refuses.
//
// Assumes: lines are added whole, with their LF. After a failure nothing more is written.
#pragma once

#include "analysis/base/result.hpp"

#include <cstdint>
#include <string>
#include <string_view>

namespace dropledger::recorder {

class LogFile {
public:
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
    [[nodiscard]] Status remove(); // a log in which nothing happened

    [[nodiscard]] const std::string& path() const { return path_; }
    [[nodiscard]] std::uint64_t size() const { return size_; }

private:
    LogFile(int handle, std::string path, std::uint64_t size);
    [[nodiscard]] Error give_up(int problem);

    int handle_;
    std::string path_;
    std::uint64_t size_; // whole lines in the file
    std::string waiting_;
    bool failed_ = false;
};

} // namespace dropledger::recorder
