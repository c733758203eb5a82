// What a capture shows, as the lines of a log in order of time.
//
// Units: picoseconds since the capture's time 0; the log's ticks are whole microseconds of it.
// Assumes: nothing is added that is more than `hold_ps` before what `write_until` was told.
#pragma once

#include "bench/capture/course.hpp"

#include "analysis/droplog/line.hpp"
#include "analysis/droplog/reasons.hpp"
#include "analysis/droplog/writer.hpp"

#include <cstdint>
#include <map>
#include <queue>
#include <string>
#include <string_view>
#include <variant>
#include <vector>

namespace dropledger::capture {

struct Commanded {
    int channel = 0;
    std::int64_t lead_ps = 0; // from the command to the ground, as the settings say
    std::uint32_t seeds = 1;
};
struct Dark {
    int channel = 0;
    int gate = 0;
    std::int64_t width_ps = 0;
};
struct Trouble {
    int channel = -1;
    std::string_view code; // of the format, or of the bench's own
};

class LogLines {
public:
    LogLines(droplog::Writer& writer, Course& course) : writer_(writer), course_(course) {}

    void begin(std::string_view boot, int channels);
    void add(std::int64_t at_ps, std::variant<Commanded, Dark, Trouble> what);
    // Everything up to this time is written, travel among it; later travel must be known already.
    void write_until(std::int64_t at_ps);
    void end(std::int64_t at_ps);

private:
    struct Happening {
        std::int64_t at_ps = 0;
        std::uint64_t order = 0; // of two at one time the one added first
        std::variant<Commanded, Dark, Trouble> what;

        bool operator>(const Happening& other) const {
            return at_ps != other.at_ps ? at_ps > other.at_ps : order > other.order;
        }
    };

    [[nodiscard]] droplog::Stamp stamp(std::int64_t at_ps);
    void write(const Happening& one);
    void write_travel(std::int64_t at_ps);

    droplog::Writer& writer_;
    Course& course_;
    std::priority_queue<Happening, std::vector<Happening>, std::greater<>> ahead_;
    std::map<int, std::uint32_t> next_index_;
    std::uint64_t added_ = 0;
    std::uint32_t next_seq_ = 0;
    std::int64_t next_travel_ps_ = 0;
};

} // namespace dropledger::capture
