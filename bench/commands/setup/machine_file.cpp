#include "bench/commands/setup/machine_file.hpp"

#include "analysis/base/readers/nesting.hpp"
#include "analysis/base/text.hpp"
#include "bench/commands/inputs/settings_lines.hpp"
#include "bench/commands/run/settings/run_checks.hpp"
#include "bench/commands/shell/dates.hpp"
#include "bench/commands/shell/usage.hpp"
#include "bench/io/file_source.hpp"
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

Result<ReadBack> read_back(std::string_view text, const std::string& file,
                           const RunOptions& typed) {
    ReadBack back;
    back.options.port = typed.port;
    back.options.baud = typed.baud;
    back.options.yes = typed.yes;
    back.options.discard_held = typed.discard_held;
    if (const Status added = add_settings(text, file, back.options); !added)
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

// Read back before it is there: what cannot be used never is, and what was there before stays.
Result<ReadBack> put(const std::string& text, const std::string& file, const RunOptions& typed) {
    auto back = read_back(text, file, typed);
    if (!back)
        return back;
    if (const Status done = files::write_file_aside(file, text); !done)
        return done.error();
    return back;
}

// A remark of this program's own that a place takes away.
bool says_place_unknown(std::string_view line, int gate) {
    return line.starts_with(fmt::format("# gate{}_place: UNSURE", gate));
}

std::string without_remark(std::string_view text, int gate) {
    std::string kept;
    while (!text.empty()) {
        const std::size_t end = std::min(text.find('\n'), text.size() - 1) + 1;
        if (!says_place_unknown(text.substr(0, end), gate))
            kept += text.substr(0, end);
        text.remove_prefix(end);
    }
    return kept;
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
        if (const GateOfMachine& one = machine.gates.at(gate);
            one.place && !one.is_none() && !droplog::gate_place_of(*one.place))
            return usage(fmt::format("--gate{}-place", gate),
                         fmt::format("`{}` is not a place", *one.place),
                         "give above or below (the valve), or none");
    return Done{};
}

Result<ReadBack> read_back(const std::string& file, const RunOptions& typed) {
    const auto text = files::whole_file(file, most_toml_bytes);
    return text ? read_back(*text, file, typed) : text.error();
}

Result<ReadBack> written(const Machine& machine, const std::vector<std::string>& report) {
    auto text = settings_of(machine);
    if (!text)
        return text.error();
    text->head.insert(text->head.end(), report.begin(), report.end());
    return put(to_toml(*text), machine.file, machine.run);
}

Result<ReadBack> written_beside(const std::string& file, const std::vector<FewDrops>& units,
                                const RunOptions& typed) {
    auto text = files::whole_file(file, most_toml_bytes);
    if (!text)
        return text.error();
    for (const FoundPlace& found : places_found(units)) {
        const std::string key = fmt::format("gate{}_place", found.gate);
        for (const FewDrops& unit : units) {
            auto more = with_channel_value(*text, {unit.channel, unit.unit}, key,
                                           toml_text(droplog::name_of(found.place)));
            if (!more)
                return input_error(file, fmt::format("no [[channel]] of {} is in it", unit.unit),
                                   fmt::format("write {} there by hand", found.line()));
            *text = *std::move(more);
        }
        *text = without_remark(*text, found.gate);
    }
    return put(*text, file, typed);
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

std::string FoundPlace::line() const {
    return fmt::format("gate{}_place = {}", gate, toml_text(droplog::name_of(place)));
}

std::string FoundPlace::words() const {
    return fmt::format("gate {} sits {} the valve", gate, droplog::name_of(place));
}

std::vector<FoundPlace> places_found(const std::vector<FewDrops>& units) {
    std::vector<FoundPlace> found;
    for (const int gate : {0, 1}) {
        const bool stated = std::any_of(units.begin(), units.end(), [gate](const FewDrops& unit) {
            return unit.stated.contains(gate);
        });
        if (const auto place = common_place(units, gate); place && !stated)
            found.push_back({gate, *place});
    }
    return found;
}

void take_places(const std::vector<FewDrops>& units, Machine& machine) {
    for (const FoundPlace& found : places_found(units))
        if (auto& gate = machine.gates.at(static_cast<std::size_t>(found.gate)); !gate.place)
            gate.place = std::string(droplog::name_of(found.place));
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

std::vector<std::string> report_with_places(Tried tried) {
    const auto found = places_found(tried.units);
    std::erase_if(tried.findings, [&](const Finding& finding) {
        return finding.kind == calibration::FindingKind::place_unstated &&
               std::any_of(found.begin(), found.end(),
                           [&](const FoundPlace& one) { return one.gate == finding.gate; });
    });
    std::vector<std::string> lines = report_of(tried);
    for (const FoundPlace& one : found)
        lines.push_back("  " + one.words() + ", by the first and last seed of each unit");
    return lines;
}

std::vector<std::string> unsure_in(std::string_view settings) {
    std::vector<std::string> unsure;
    settings.remove_prefix(std::min(settings.find("[run]"), settings.size()));
    for (std::string_view line : split(settings, '\n')) {
        if (line.find("UNSURE") == std::string_view::npos)
            continue;
        line.remove_prefix(line.starts_with("# ") ? 2 : 0);
        if (std::find(unsure.begin(), unsure.end(), line) == unsure.end())
            unsure.emplace_back(line);
    }
    return unsure;
}

} // namespace dropledger::cli
