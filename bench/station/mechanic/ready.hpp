// A run that is worked out and waits for a person's confirmation.
#pragma once

#include "bench/commands/run/job/run_work.hpp"
#include "bench/commands/setup/machine_file.hpp"
#include "bench/station/mechanic/mechanic.hpp"

namespace dropledger::station {

struct Mechanic::Ready {
    std::string what;  // runs: its settings file, or the log that is gone on with
    std::string token; // of the page that confirms it: an old page confirms nothing
    cli::RunOptions options;
    std::unique_ptr<book::Book> book;
    cli::Job job;
};

// What a try has found of a machine, until it is written, or other work begins.
struct Mechanic::Offer {
    std::string token;
    std::string file;
    cli::Tried tried;
    bool all_units = false;
};

// As its settings file says. `name`: of a file in the folder.
[[nodiscard]] Result<cli::RunOptions> machine_options(const std::string& folder,
                                                      const std::string& name);

// Machines' settings files of a folder that `run` understands.
[[nodiscard]] std::vector<std::string> machines_in(const std::string& folder);

// What is wrong with files that are meant as such and that it does not understand.
[[nodiscard]] std::vector<Error> unreadable_machines(const std::string& folder);

[[nodiscard]] bool machine_has(const std::string& folder, const std::string& machine,
                               const std::string& unit);

} // namespace dropledger::station
