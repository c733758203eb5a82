// Bytes off the wire to lines: a line, something that is no line, or more bytes are needed.
//
// Assumes: lines end with LF; a CR before it is dropped.
// Bounds: at most one line and the unread rest of the latest read are kept, whatever arrives; of an
// overlong line only its beginning.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>

namespace dropledger::link {

enum class FrameKind : std::uint8_t {
    line,       // length, characters and CRC are right; `bytes` without LF and CR
    not_a_line, // anything else up to an LF; `bytes` as they came, cut to what a @damaged line can
                // hold
    need_more,
};

struct Frame {
    FrameKind kind = FrameKind::need_more;
    std::string bytes;
};

class Framer {
public:
    void feed(std::string_view bytes);
    [[nodiscard]] Frame next();
    // What stands unfinished when the line goes down: not_a_line, or need_more where nothing is
    // left.
    [[nodiscard]] Frame flush();

private:
    void keep(std::string_view part);
    [[nodiscard]] Frame finish();

    std::string pending_; // fed, not yet looked at
    std::string line_;    // the unfinished line, its beginning only once it is too long
    bool overlong_ = false;
};

} // namespace dropledger::link
