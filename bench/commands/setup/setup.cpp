#include "bench/commands/setup/setup.hpp"

#include "analysis/base/shell_word.hpp"
#include "bench/commands/run/screen/run_screen.hpp"
#include "bench/commands/setup/machine_file.hpp"
#include "bench/commands/setup/questions.hpp"
#include "bench/commands/shell/deliver.hpp"
#include "bench/commands/shell/standard.hpp"
#include "bench/commands/shell/usage.hpp"

#include <fmt/format.h>

#include <filesystem>
#include <iostream>
#include <memory>

namespace dropledger::cli {

namespace {

namespace fs = std::filesystem;

constexpr int exit_findings = 2;

std::optional<std::string> answer_to(const std::string& prompt) {
    tell("{}", prompt);
    std::string line;
    if (!std::getline(std::cin, line))
        return std::nullopt;
    return line;
}

Result<int> finish(const std::string& file, const std::vector<std::string>& doubts,
                   const std::vector<std::string>& report, bool findings) {
    TextPage page;
    for (const std::string& doubt : doubts)
        page.add("{}\n", doubt);
    for (const std::string& line : report)
        page.add("{}\n", line);
    page.add("Settings: {}\nrecord a run with: dropledger run --settings {}\n", file,
             shell_word(file));
    return deliver_text(page.text(), findings ? exit_findings : 0);
}

// A file that is there is a person's: it is tried, and not written.
Result<int> try_file(const Machine& machine) {
    const auto back = read_back(machine.file, machine.run);
    if (!back)
        return back.error();
    if (!back->options.port)
        return usage("FILE",
                     fmt::format("{} is there already, and is not written over", machine.file),
                     "name another file, or the bench with --port to try this one on it");
    recorder::SystemClock clock;
    const auto found = tried(*back, machine, talk_at_terminal(back->options, clock), clock);
    if (!found)
        return found.error();
    return finish(machine.file, back->doubts, report_of(*found), !found->findings.empty());
}

Result<int> setup(Machine machine) {
    if (const Status fits = check_options(machine); !fits)
        return fits.error();
    if (fs::exists(machine.file))
        return try_file(machine);
    const Ask ask = is_asked() ? Ask{answer_to} : Ask{};
    if (const Status asked = ask_for_the_rest(ask, machine); !asked)
        return asked.error();
    const auto back = written(machine, {});
    if (!back)
        return back.error();
    if (!machine.run.port || machine.no_check)
        return finish(machine.file, back->doubts, {}, false);
    recorder::SystemClock clock;
    const auto found = tried(*back, machine, talk_at_terminal(back->options, clock), clock);
    if (!found)
        return found.error();
    take_places(found->units, machine);
    if (const auto again = written(machine, report_with_places(*found)); !again)
        return again.error();
    return finish(machine.file, back->doubts, report_of(*found), !found->findings.empty());
}

void declare_machine(Command& command, Machine& machine) {
    command
        .option("--units", machine.units,
                "serial numbers in the order of the bench's channels: SU-0201..SU-0206, or with "
                "commas between")
        .option("--rows", machine.rows, "their rows: 1..6 (default), or 1,3,5")
        .option("--cells", machine.cells, "cells of the metering disc")
        .option("--lead-us", machine.lead_us, "valve lead that is set in the controller")
        .option("--gate0-place", machine.gates[0].place,
                "the units' own sensor: above or below the valve, or none")
        .option("--gate0-height-mm", machine.gates[0].height_mm, "its height over the ground")
        .option("--gate1-place", machine.gates[1].place,
                "the bench's reference gate: above or below the valve, or none")
        .option("--gate1-height-mm", machine.gates[1].height_mm, "its height over the ground")
        .option("--valve-height-mm", machine.valve_height_mm,
                "height over the ground at which seed begins to fall: the valve, or the tube's end")
        .option("--height-u-mm", machine.height_u_mm, "how well heights are known (standard)")
        .option("--terminal-mps", machine.terminal_mps,
                "how fast the seed falls at last; over what is known of the crop");
}

} // namespace

void declare_setup(Command command) {
    const auto machine = std::make_shared<Machine>();
    command.option("FILE", machine->file, "settings file to write, or to try: machine.toml")
        .required("FILE");
    declare_run_fields(command, machine->run);
    declare_machine(command, *machine);
    command.option("--check-drops", machine->check_drops, "drops a unit makes when it is tried")
        .flag("--no-check", machine->no_check, "write the file and try nothing")
        .flag("--discard-held", machine->run.discard_held,
              "give up what the controller still holds of an earlier run")
        .flag("--yes", machine->run.yes, "the cautions are heeded: start without asking")
        .manual("setup")
        .runs([machine] { return setup(*machine); });
}

} // namespace dropledger::cli
