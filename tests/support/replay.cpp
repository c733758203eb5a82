#include "tests/support/replay.hpp"

#include <algorithm>

namespace dropledger::link {

Replay::Replay(std::string recorded, std::vector<std::size_t> cuts, Ending ending)
    : recorded_(std::move(recorded)), cuts_(std::move(cuts)), ending_(ending) {
    if (cuts_.empty())
        cuts_.push_back(4096);
}

Read Replay::read(std::chrono::milliseconds timeout) {
    if (closed_)
        return {ReadOutcome::gone, {}};
    if (at_ == recorded_.size()) {
        if (ending_ == Ending::gone)
            return {ReadOutcome::gone, {}};
        return {timeout.count() == 0 ? ReadOutcome::would_block : ReadOutcome::silence, {}};
    }
    const std::size_t wanted = std::max<std::size_t>(cuts_[next_cut_++ % cuts_.size()], 1);
    std::string part = recorded_.substr(at_, wanted);
    at_ += part.size();
    return {ReadOutcome::bytes, std::move(part)};
}

Status Replay::write(std::string_view bytes) {
    if (closed_)
        return device_error("replay", "the line is closed", "");
    written_ += bytes;
    return Done{};
}

} // namespace dropledger::link
