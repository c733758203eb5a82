// What can be wrong with a log as a document: one table of kinds, their keys and their words.
//
// A kind makes a log *incomplete* (lines are missing, or nobody can know that none is), or it
// *contradicts* (what the log says of itself does not fit together), or both, or it only keeps it
// from being sound. `hides_lines`: how many lines are missing is not known, or they may be any.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>

namespace dropledger::droplog {

enum class Flaw : std::uint8_t {
    not_closed,
    torn_tail,
    sequence_gap,
    lines_lost,
    out_of_order,
    conflicting,
    no_hello,
    no_started,
    several_starts,
    drop_while_halted,
    reset_in_run,
    index_gap,
    index_repeated,
    no_order,
    count_not_agreed,
    no_halted,
    seal_broken,
    no_seals,
    ending_differs,
    bad_signature,
};

struct FlawRow {
    Flaw flaw;
    std::string_view key;
    bool incomplete;
    bool contradicts;
    bool hides_lines;
    std::string_view one;  // of one
    std::string_view many; // of several; empty: always as of one
};
[[nodiscard]] const FlawRow& row_of(Flaw flaw);

struct FoundFlaw {
    Flaw flaw = Flaw::not_closed;
    std::uint64_t count = 1; // lines, drops or times
    std::uint64_t line = 0;  // where it shows first; 0: at no line
};

// "7 lines are missing (line 33)"
[[nodiscard]] std::string in_words(const FoundFlaw& found);

} // namespace dropledger::droplog
