// From files to the book: what a file is, what its entry says, and which entries follow from which.
//
// A run is judged by the profile that its log names (the book's own before those that come with the
// program) and with the calibration that speaks for it (calibration/choice.hpp), never by the
// options of some audit: so the book follows from its files alone, and logs entered before their
// calibration are judged again when it comes.
#pragma once

#include "analysis/audit/options.hpp"
#include "bench/book/book.hpp"

#include <functional>
#include <string>
#include <vector>

namespace dropledger::book {

// The profile for a log where the book has none of that name.
using ProfileElse = audit::ChooseProfile;

struct Added {
    std::size_t runs = 0;
    std::size_t calibrations = 0;
    std::size_t profiles = 0;
    std::size_t batches = 0;
    std::size_t judged_again = 0;      // runs that were there before
    std::size_t tries = 0;             // logs of a few drops, of a set-up: no runs to judge by
    std::vector<std::string> left_out; // sentences: what could not be entered, and why
};

// All of them, or nothing: fails at the first that cannot be entered.
[[nodiscard]] Result<Added> add(Book& book, const std::vector<std::string>& files,
                                const ProfileElse& otherwise);

// Empties the book and enters what lies in the folder and below it, but in `dropped-packs` and
// `field-logs`; what cannot be read is left out and said.
[[nodiscard]] Result<Added> rebuild(Book& book, const std::string& folder,
                                    const ProfileElse& otherwise);

} // namespace dropledger::book
