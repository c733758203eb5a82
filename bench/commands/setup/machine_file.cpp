#include "bench/commands/setup/machine_file.hpp"

#include "bench/commands/run/settings/run_checks.hpp"
#include "bench/commands/shell/dates.hpp"
#include "bench/commands/shell/usage.hpp"
#include "bench/io/write_aside.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <filesystem>
#include <functional>

namespace dropledger::cli {

namespace {

namespace fs = std::filesystem;
using calibration::FewDrops;
using calibration::Finding;

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

Status write_settings(const Machine& machine, const std::vector<std::string>& report) {
    auto text = settings_of(machine);
    if (!text)
        return text.error();
    text->head.insert(text->head.end(), report.begin(), report.end());
    return files::write_file_aside(machine.file, to_toml(*text));
}

} // namespace

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

Result<Tried> tried(const ReadBack& back, const Machine& machine, const TryTalk& talk,
                    recorder::Clock& clock) {
    BenchTry what{.port = *back.options.port,
                  .folder = fs::path(machine.file).replace_extension().string() + "-check",
                  .drops = machine.check_drops};
    auto units = try_on_bench(back.options, back.plan, what, talk, clock);
    if (!units)
        return units.error();
    auto findings = calibration::machine_findings(*units, back.plan.order.speed_um_s);
    return Tried{*std::move(units), std::move(findings)};
}

void take_places(const std::vector<FewDrops>& units, Machine& machine) {
    for (std::size_t gate = 0; gate < machine.gates.size(); ++gate)
        if (const auto place = common_place(units, static_cast<int>(gate));
            place && !machine.gates.at(gate).place)
            machine.gates.at(gate).place = std::string(droplog::name_of(*place));
}

std::vector<std::string> report_of(const Tried& tried) {
    std::vector<std::string> lines{
        fmt::format("Tried on the bench on {}, a few drops a unit:", today_utc())};
    for (const FewDrops& unit : tried.units)
        lines.push_back("  " + seen_in_words(unit));
    for (const Finding& finding : tried.findings)
        lines.push_back(fmt::format("UNSURE: {} {}", finding.what, finding.remedy));
    if (tried.findings.empty())
        lines.emplace_back("Nothing to object to; a few drops say nothing of misses.");
    return lines;
}

} // namespace dropledger::cli
