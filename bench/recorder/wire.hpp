// The line to the controller as the recorder and its lifeline share it: one reads, both write.
//
// Assumes: connect, drop, up and read are called on the recorder's thread only; write on any.
#pragma once

#include "bench/link/transport.hpp"

#include <memory>
#include <mutex>
#include <string>

namespace dropledger::recorder {

constexpr std::chrono::milliseconds read_patience{20}; // of one read

class Wire {
public:
    explicit Wire(std::unique_ptr<link::Transport> link) : link_(std::move(link)) {}

    void connect(std::unique_ptr<link::Transport> link);
    void drop();
    [[nodiscard]] bool up() const { return link_ != nullptr; }
    [[nodiscard]] link::Read read(std::chrono::milliseconds timeout) {
        return link_->read(timeout);
    }
    // A whole line, to which LF is added, and one before it where the line before may have been cut
    // off; false where there is no line or it takes nothing.
    [[nodiscard]] bool write(const std::string& line);

private:
    std::mutex writing_; // and changing link_
    std::unique_ptr<link::Transport> link_;
    bool torn_ = false; // the other end may hold the beginning of a line
};

} // namespace dropledger::recorder
