// Sense before sums: the input is held against itself before anything is judged.
//
// A table that may mean two things is not guessed at: the error (exit 65) says what was found, what
// it may mean, and how to answer. Each question has a key; `Answers::accepted` holds those that the
// user answered with "it is right as it is". Spacing and speed seen stand in `Ground`, for the
// page's opening. Units: in the names.
#pragma once

#include "analysis/field/input/drops.hpp"

#include <cstdint>
#include <optional>

namespace dropledger::field {

// What the drops say of the machine, over all passes long enough; undefined where there is none.
struct Ground {
    std::optional<double> spacing_m;     // median, from drop to drop along the pass
    std::optional<double> speed_mps;     // median
    std::optional<double> north_south_m; // median spacing of passes that run so …
    std::optional<double> east_west_m;   // … and so
    std::int64_t timed_lines = 0;        // with a time at both ends, of passes long enough …
    std::int64_t falling_lines = 0;      // … whose drop numbers fall as time goes on
};
[[nodiscard]] Ground ground_of(const Field& field);

// Before the drops are put in order: rows whose `seen` is blank.
[[nodiscard]] Status check_blanks(const Field& field, const std::string& file,
                                  const Answers& answers);
// Everything else.
[[nodiscard]] Status check_sense(const Field& field, const std::string& file,
                                 const Answers& answers);

} // namespace dropledger::field
