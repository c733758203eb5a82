// The bench's end of a pseudo-terminal, and a link that leads to the host's end.
//
// Assumes: Linux or another system with Unix98 pseudo-terminals. Reads and writes never block.
#pragma once

#include "analysis/base/result.hpp"
#include "bench/io/descriptor.hpp"

#include <chrono>
#include <string>
#include <string_view>

namespace dropledger::bench_virtual {

struct PortState {
    bool host_there = false; // somebody has opened the other end
    bool readable = false;
    bool writable = false;
};

class PtyPort {
public:
    [[nodiscard]] static Result<PtyPort> open();

    [[nodiscard]] const std::string& path() const { return path_; } // what the host opens
    [[nodiscard]] PortState wait(std::chrono::milliseconds timeout, bool to_write) const;
    [[nodiscard]] std::string read() const;
    [[nodiscard]] std::size_t write(std::string_view bytes) const; // how many were taken
    void forget_unread() const; // what the host has not read is gone, as on a real line

private:
    PtyPort(files::Descriptor handle, std::string path)
        : handle_(std::move(handle)), path_(std::move(path)) {}

    files::Descriptor handle_;
    std::string path_;
};

// A symbolic link that is replaced in one step and removed at the end; never replaces anything but
// a link.
class PortLink {
public:
    explicit PortLink(std::string link) : link_(std::move(link)) {}
    PortLink(const PortLink&) = delete;
    PortLink& operator=(const PortLink&) = delete;
    ~PortLink() { lead_nowhere(); }

    [[nodiscard]] Status point_to(const std::string& target);
    void lead_nowhere(); // gone, where it still leads where we pointed it

private:
    std::string link_;
    std::string target_;
};

} // namespace dropledger::bench_virtual
