// The live picture of a run, in units and rows: what a person at the bench sees a few times a second.
//
// Assumes: a picture is written over the one before, so none of its lines may wrap: each is shorter
// than the terminal is wide, and all of them leave the terminal's last line free. What the lines say
// is also had by itself, for a page.
// Units: shares of 0 to 1; seconds.
// Undefined when: never; a terminal too small for all rows shows the ones that need a look first.
#pragma once

#include "analysis/droplog/settings.hpp"
#include "analysis/statistics/basics/estimate.hpp"
#include "bench/recorder/protocol/lines/tally.hpp"

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace dropledger::cli {

enum class Ink : std::uint8_t {
    plain,
    good,
    bad,
    look
}; // colour where there is any; words say it too

struct ScreenLine {
    std::string text;
    Ink ink = Ink::plain;
};

enum class SoFar : std::uint8_t { open, within, outside };

// Of one drop, as far as the live count knows.
enum class DropSeen : std::uint8_t { right, none, too_many };
constexpr std::size_t drops_shown = 60; // of each unit's last

struct ScreenUnit {
    int channel = 0;
    std::string unit; // may be empty
    std::string row;
    recorder::ChannelTally tally;
    SoFar so_far = SoFar::open;
    std::uint64_t dry = 0; // drops without seed in a row, up to now (line: seeds due)
    std::optional<double> seeds_per_m = std::nullopt;                 // line mode
    std::optional<statistics::Interval> miss_interval = std::nullopt; // 95 %, of shares
    std::optional<statistics::Interval> over_interval = std::nullopt;
    std::vector<DropSeen> last = {}; // drops, the newest at the end
};

struct ScreenModel {
    droplog::Mode mode = droplog::Mode::single;
    std::uint64_t wanted = 0; // drops a unit (line: seeds a unit); 0: no end
    std::optional<double> miss_limit;
    std::optional<double> multiples_limit;
    std::optional<double> wanted_per_m; // line
    std::optional<double> seconds_left;
    std::vector<ScreenUnit> units;
};

struct ScreenSize {
    std::size_t columns = 80;
    std::size_t lines = 24;
};

// So many drops (line: so much way) without a seed are a matter for a person.
constexpr std::uint64_t dry_drops = 30;
constexpr std::string_view dry_remedy = "look at its hopper, then at disc and gate";

// What a row of the picture says of a unit, for another kind of paper.
struct UnitCount {
    std::string_view title; // "misses"
    std::string text;       // "12, 2.4 % (1.2 to 4.2 %)"
};
struct UnitWords {
    std::vector<UnitCount> counts;
    std::string words; // the verdict so far, and what needs a look with what to do
    Ink ink = Ink::plain;
};
[[nodiscard]] UnitWords words_for(const ScreenModel& model, const ScreenUnit& unit);
[[nodiscard]] std::string
progress_words(const ScreenModel& model); // "120 of 500 drops a unit, 2 min left"
[[nodiscard]] std::string
limit_words(const ScreenModel& model); // "limits: misses 5.0 %, …"; or empty
[[nodiscard]] std::optional<double>
part_done(const ScreenModel& model); // 0 to 1; none without an end

[[nodiscard]] std::vector<ScreenLine> picture_of(const ScreenModel& model, ScreenSize size);

// One line, for where there is no terminal: how far, and which units are beyond a limit.
[[nodiscard]] std::string plain_line_of(const ScreenModel& model);

// Broken between words; no line longer than `columns`.
[[nodiscard]] std::vector<std::string> wrapped(std::string_view text, std::size_t columns);

[[nodiscard]] std::string name_of(const ScreenUnit& unit); // "row 4, U-0204"

} // namespace dropledger::cli
