// A command's manual page for man(1), from what its --help says.
#pragma once

#include "bench/commands/shell/page.hpp"

#include <string>
#include <vector>

namespace dropledger::package {

struct Edition {
    std::string version; // "0.2.0"
    std::string date;    // of its release, YYYY-MM-DD
};

struct ManPage {
    std::string file; // "dropledger-batch-open.1"
    std::string text;
};

// Of the command and of all below it.
[[nodiscard]] std::vector<ManPage> man_pages(const cli::CommandPage& program,
                                             const Edition& edition);

} // namespace dropledger::package
