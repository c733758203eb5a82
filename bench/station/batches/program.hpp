// This program once more, with a command of its own: what a page asks for is that command, word for
// word, and what the command says is what the page shows.
//
// Assumes: a value of an option is given as --name=value, a file by its path: nothing that a page
// sends is taken for an option.
#pragma once

#include "analysis/base/result.hpp"
#include "bench/station/pages/jobs.hpp"

#include <memory>
#include <string>
#include <vector>

namespace dropledger::station {

struct Said {
    int status = 0;   // as in the README: 0, 1, 2, 64, 65, 70, 74
    std::string text; // output and errors
    [[nodiscard]] bool failed() const { return status > 2; }
};

// Ended where the work is cancelled. `progress` may be null.
[[nodiscard]] Result<Said> run_program(const std::vector<std::string>& words,
                                       const std::shared_ptr<Progress>& progress = nullptr);

// Why it failed, for a person at a page: without the program's name, and without what to type.
[[nodiscard]] std::string refusal_in(const std::string& text);
// Files by their plain names.
[[nodiscard]] std::string without_folder(std::string text, const std::string& folder);
// Without lines that tell of options, which a page does not have.
[[nodiscard]] std::string without_options(const std::string& text);
// Calibration records that lie in it.
[[nodiscard]] std::vector<std::string> records_in(const std::string& folder);

} // namespace dropledger::station
