#include "bench/commands/setup/setup.hpp"

#include "analysis/base/shell_word.hpp"
#include "bench/commands/run/run_checks.hpp"
#include "bench/commands/run/run_screen.hpp"
#include "bench/commands/setup/bench_try.hpp"
#include "bench/commands/setup/machine.hpp"
#include "bench/commands/setup/questions.hpp"
#include "bench/commands/shell/dates.hpp"
#include "bench/commands/shell/deliver.hpp"
#include "bench/commands/shell/standard.hpp"
#include "bench/commands/shell/usage.hpp"
#include "bench/io/write_aside.hpp"
#include "calibration/machine/findings.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <filesystem>
#include <functional>
#include <iostream>
#include <memory>

namespace dropledger::cli {

namespace {

namespace fs = std::filesystem;
using calibration::FewDrops;
using calibration::Finding;

constexpr int exit_findings = 2;

std::optional<std::string> answer_to(const std::string& prompt) {
    tell("{}", prompt);
    std::string line;
    if (!std::getline(std::cin, line))
        return std::nullopt;
    return line;
}

// As `run --settings` will read it.
struct ReadBack {
    RunOptions options;
    recorder::RunPlan plan;
    std::vector<std::string> doubts;
};

Result<ReadBack> read_back(const std::string& file, const RunOptions& typed) {
    ReadBack back;
    back.options.port = typed.port;
    back.options.baud = typed.baud;
    back.options.yes = typed.yes;
    back.options.discard_held = typed.discard_held;
    if (const Status added = add_settings_file(file, back.options); !added)
        return added.error();
    auto plan = plan_of(back.options);
    if (!plan)
        return plan.error();
    back.plan = *std::move(plan);
    auto doubts = check_plan(back.options, back.plan);
    if (!doubts)
        return doubts.error();
    back.doubts = *std::move(doubts);
    return back;
}

std::string seen_in_words(const FewDrops& unit) {
    std::string text =
        fmt::format("{} (channel {}): {} drops", unit.unit, unit.channel, unit.drops);
    for (const int gate : {0, 1})
        text += fmt::format(", gate {} saw {}", gate, unit.pulses(unit.channel, gate));
    if (unit.offset_mm)
        text += fmt::format(", seed lands {:.1f} mm {}", std::abs(unit.offset_mm->value),
                            unit.offset_mm->value < 0.0 ? "early" : "late");
    return text;
}

std::vector<std::string> report_of(const std::vector<FewDrops>& units,
                                   const std::vector<Finding>& findings) {
    std::vector<std::string> lines{
        fmt::format("Tried on the bench on {}, a few drops a unit:", today_utc())};
    for (const FewDrops& unit : units)
        lines.push_back("  " + seen_in_words(unit));
    for (const Finding& finding : findings)
        lines.push_back(fmt::format("UNSURE: {} {}", finding.what, finding.remedy));
    if (findings.empty())
        lines.emplace_back("Nothing to object to; a few drops say nothing of misses.");
    return lines;
}

// That the gates of all units show.
std::optional<droplog::GatePlace> common_place(const std::vector<FewDrops>& units, int gate) {
    std::vector<droplog::GatePlace> shown;
    for (const FewDrops& unit : units) {
        const auto seen = unit.gates.find({unit.channel, gate});
        if (seen == unit.gates.end())
            return std::nullopt;
        if (const auto place = place_of(seen->second))
            shown.push_back(*place);
    }
    if (shown.size() != units.size() || shown.empty() ||
        std::adjacent_find(shown.begin(), shown.end(), std::not_equal_to<>{}) != shown.end())
        return std::nullopt;
    return shown.front();
}

// Where nobody has said it.
void take_places(const std::vector<FewDrops>& units, Machine& machine) {
    for (std::size_t gate = 0; gate < machine.gates.size(); ++gate)
        if (const auto place = common_place(units, static_cast<int>(gate));
            place && !machine.gates.at(gate).place)
            machine.gates.at(gate).place = std::string(droplog::name_of(*place));
}

struct Tried {
    std::vector<FewDrops> units;
    std::vector<Finding> findings;
};

Result<Tried> tried(const ReadBack& back, const Machine& machine) {
    BenchTry what{.port = *back.options.port,
                  .folder = fs::path(machine.file).replace_extension().string() + "-check",
                  .drops = machine.check_drops};
    auto units = try_on_bench(back.options, back.plan, what);
    if (!units)
        return units.error();
    auto findings = calibration::machine_findings(*units, back.plan.order.speed_um_s);
    return Tried{*std::move(units), std::move(findings)};
}

Status write_settings(const Machine& machine, const std::vector<std::string>& report) {
    auto text = settings_of(machine);
    if (!text)
        return text.error();
    text->head.insert(text->head.end(), report.begin(), report.end());
    return files::write_file_aside(machine.file, to_toml(*text));
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
    const auto found = tried(*back, machine);
    if (!found)
        return found.error();
    return finish(machine.file, back->doubts, report_of(found->units, found->findings),
                  !found->findings.empty());
}

Status check_options(const Machine& machine) {
    if (machine.check_drops < 10 || machine.check_drops > 200)
        return usage("--check-drops", fmt::format("{} drops", machine.check_drops),
                     "give 10 to 200");
    if (!(machine.height_u_mm >= 0.0 && machine.height_u_mm <= 100.0))
        return usage("--height-u-mm", fmt::format("{} mm cannot be", machine.height_u_mm),
                     "give how well a height is known: 2");
    for (const std::size_t gate : {std::size_t{0}, std::size_t{1}})
        if (const auto& place = machine.gates.at(gate).place;
            place && *place != "above" && *place != "below" && *place != "none")
            return usage(fmt::format("--gate{}-place", gate),
                         fmt::format("`{}` is not a place", *place),
                         "give above or below (the valve), or none");
    return Done{};
}

// Written, then read back as `run` reads it; a file that cannot be used is not left behind.
Result<ReadBack> written(const Machine& machine, const std::vector<std::string>& report) {
    if (const Status done = write_settings(machine, report); !done)
        return done.error();
    auto back = read_back(machine.file, machine.run);
    if (!back) {
        std::error_code ignored;
        fs::remove(machine.file, ignored);
    }
    return back;
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
    const auto found = tried(*back, machine);
    if (!found)
        return found.error();
    take_places(found->units, machine);
    const auto report = report_of(found->units, found->findings);
    if (const auto again = written(machine, report); !again)
        return again.error();
    return finish(machine.file, back->doubts, report, !found->findings.empty());
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

void add_setup(Program& program) {
    Command command =
        program.subcommand("setup", "a machine's settings file: asked for, and tried on the bench");
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
