#include "bench/link/framer.hpp"

#include "analysis/droplog/line.hpp"

namespace dropledger::link {

namespace {

// A CR may stand where the LF of a line of full length would.
constexpr std::size_t longest_kept = droplog::longest_line;

} // namespace

void Framer::feed(std::string_view bytes) {
    pending_ += bytes;
}

void Framer::keep(std::string_view part) {
    const std::size_t room = longest_kept - line_.size();
    overlong_ = overlong_ || part.size() > room;
    line_ += part.substr(0, room);
}

Frame Framer::next() {
    const std::size_t end = pending_.find('\n');
    if (end == std::string::npos) {
        keep(pending_);
        pending_.clear();
        return {};
    }
    keep(std::string_view{pending_}.substr(0, end));
    pending_.erase(0, end + 1);
    return finish();
}

Frame Framer::finish() {
    std::string bytes;
    bytes.swap(line_);
    const bool whole = !overlong_;
    overlong_ = false;
    std::string_view text = bytes;
    if (text.ends_with('\r'))
        text.remove_suffix(1);
    if (whole && droplog::checked_body(text))
        return {FrameKind::line, std::string{text}};
    return {FrameKind::not_a_line, std::move(bytes)};
}

Frame Framer::flush() {
    keep(pending_);
    pending_.clear();
    if (line_.empty())
        return {};
    std::string bytes;
    bytes.swap(line_);
    overlong_ = false;
    return {FrameKind::not_a_line, std::move(bytes)};
}

} // namespace dropledger::link
