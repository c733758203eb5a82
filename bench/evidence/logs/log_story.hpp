// What a log tells of its run beside the drops: when it ended, which boots its lines are of, which
// firmware sent them, and a mark of each channel's pulses by which a copy is known.
//
// Units: UNIX time in s.
// Undefined when: fewer than `least_pulses` pulses of a channel: no mark, since short runs may be
// alike by chance; a line that is damaged tells nothing.
#pragma once

#include "analysis/batch/runs/tested_run.hpp"
#include "analysis/droplog/line.hpp"
#include "analysis/droplog/seal.hpp"

#include <cstdint>
#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace dropledger::evidence {

inline constexpr std::int64_t least_pulses = 20;

struct LogStory {
    std::optional<std::int64_t> ended_s; // the latest time that the host noted
    std::vector<batch::BootSpan> boots;
    std::string firmware;
    std::map<int, std::string> streams; // by channel: SHA-256 over its pulses, hex
};

class StoryReader {
public:
    void add(std::string_view bytes);
    [[nodiscard]] LogStory finish();

private:
    struct Stream {
        droplog::Digest digest;
        std::int64_t pulses = 0;
        std::uint32_t tick_us = 0;
    };
    void take(std::string_view line);
    void take_hello(std::string_view line, const droplog::Record& record);
    void take_time(std::string_view line);
    void take_pulse(const droplog::Record& record);
    [[nodiscard]] bool is_new(const droplog::Record& record);

    std::string waiting_; // of a line whose end has not come
    LogStory story_;
    std::map<int, Stream> streams_;
};

} // namespace dropledger::evidence
