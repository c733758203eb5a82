// The live picture of a run, in units and rows: what a person at the bench sees a few times a second.
//
// Assumes: a picture is written over the one before, so none of its lines may wrap: each is shorter
// than the terminal is wide, and all of them leave the terminal's last line free.
// Units: shares of 0 to 1; seconds.
// Undefined when: never; a terminal too small for all rows shows the ones that need a look first.
#pragma once

#include "analysis/droplog/settings.hpp"
#include "bench/recorder/protocol/tally.hpp"

#include "analysis/droplog/settings.hpp"

#include <cstdint>
#include <optional>
#include <string>
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

struct ScreenUnit {
    int channel = 0;
    std::string unit; // may be empty
    std::string row;
    recorder::ChannelTally tally;
    SoFar so_far = SoFar::open;
    std::uint64_t dry = 0;             // drops without seed in a row, up to now (line: seeds due)
    std::optional<double> seeds_per_m; // line mode
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

[[nodiscard]] std::vector<ScreenLine> picture_of(const ScreenModel& model, ScreenSize size);

// One line, for where there is no terminal: how far, and which units are beyond a limit.
[[nodiscard]] std::string plain_line_of(const ScreenModel& model);

// Broken between words; no line longer than `columns`.
[[nodiscard]] std::vector<std::string> wrapped(std::string_view text, std::size_t columns);

[[nodiscard]] std::string name_of(const ScreenUnit& unit); // "row 4, U-0204"

} // namespace dropledger::cli
