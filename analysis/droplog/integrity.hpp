// What a reader found out about a log as a document: every line counted once, seals, gaps,
// completeness.
#pragma once

#include "analysis/droplog/flaw.hpp"

#include <cstdint>
#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace dropledger::droplog {

// Every line read stands in exactly one of these.
struct LineTally {
    std::uint64_t used = 0;
    std::uint64_t unknown = 0;      // a name that this version does not know
    std::uint64_t damaged = 0;      // CRC, length or fields wrong; @damaged lines too
    std::uint64_t repeated = 0;     // same BOOT and SEQ again, identical
    std::uint64_t conflicting = 0;  // same BOOT and SEQ again, different bytes
    std::uint64_t out_of_order = 0; // a SEQ that was skipped before, or a TICK over a second late

    [[nodiscard]] std::uint64_t total() const {
        return used + unknown + damaged + repeated + conflicting + out_of_order;
    }
};

struct SealTally {
    std::uint64_t count = 0;
    bool intact = true;
    std::optional<std::uint64_t> first_bad_line; // the @seal (or @close) line that does not hold
    std::uint64_t first_bad_block_start = 0;     // first line that this seal covers
    std::uint64_t unsealed_lines = 0;            // after the last seal, @close not counted
};

struct MissingLines {
    std::uint64_t at_least = 0;
    bool may_be_more = false;
};

struct Integrity {
    LineTally lines;
    std::uint64_t extra_fields = 0;  // used lines with more fields than this version knows
    std::uint64_t late_settings = 0; // @set and @channel after the run's first line: not taken in
    std::uint64_t late = 0;          // used lines over 50 ms, up to a second, behind in TICK
    std::uint64_t lost = 0;          // as the controller reported, all boots together
    std::uint64_t sequence_gaps = 0; // places where SEQ jumped
    std::uint64_t missing_lines = 0; // lines that those jumps left out
    std::uint64_t boots = 0;
    std::uint64_t resumed = 0;
    bool torn_tail = false;
    bool has_header = false;
    std::optional<std::string> close_reason; // where the last line is @close
    bool reason_covered = false;             // by @ending under the last seal; older logs have none
    std::uint64_t differing_ending = 0;      // line of an @ending that does not agree; 0: none
    SealTally seals;
    bool is_signed = false;                 // a signature is there and verifies
    bool bad_signature = false;             // a signature is there and does not
    std::string public_key;                 // hex, where signed
    std::string last_seal;                  // hex, where there is a seal
    std::vector<std::uint64_t> damaged_at;  // the first few line numbers
    std::vector<std::uint64_t> conflict_at; // the first few line numbers
    std::uint64_t first_gap_line = 0;       // behind the first jump of SEQ; 0: none
    std::uint64_t first_lost_line = 0;      // beat that first told of lost lines
    std::uint64_t first_out_of_order_line = 0;
    std::uint64_t starts = 0;         // of the motors
    std::vector<FoundFlaw> run_flaws; // what is missing of a whole run

    // Everything that is wrong, each kind once, in the order of the kinds.
    [[nodiscard]] std::vector<FoundFlaw> flaws() const;
    // Of these, the ones by which the log does not agree with itself: no verdict may rest on it.
    [[nodiscard]] std::vector<FoundFlaw> contradictions() const;
    // Greeted, started, every line and every drop there, the order carried out, closed.
    [[nodiscard]] bool complete() const;
    // How many lines are missing at the least, and whether that may be all.
    [[nodiscard]] MissingLines missing() const;
};

using Settings = std::map<std::string, std::string, std::less<>>;

// What the host wrote about the run before the first controller line.
struct Header {
    std::string run_id;
    std::string started;
    Settings run;
    std::map<int, Settings> channels;
    std::vector<std::string> remarks; // @note, the first few

    static constexpr std::size_t remarks_kept = 100;

    [[nodiscard]] const std::string* find(std::string_view key) const;
    [[nodiscard]] const std::string* find(int channel, std::string_view key) const;
    [[nodiscard]] std::string text(std::string_view key) const; // empty where it says nothing
    [[nodiscard]] std::string text(int channel, std::string_view key) const;
    [[nodiscard]] std::optional<std::int64_t> number(std::string_view key) const;
    [[nodiscard]] std::optional<std::int64_t> number(int channel, std::string_view key) const;
};

} // namespace dropledger::droplog
