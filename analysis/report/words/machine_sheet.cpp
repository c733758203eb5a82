#include "analysis/report/words/machine_sheet.hpp"

#include "analysis/report/words/plain.hpp"
#include "analysis/report/words/quantities.hpp"
#include "analysis/report/words/wording.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <map>
#include <span>

namespace dropledger::report {

using ledger::Mode;
using measures::Quantity;
using verdict::Outcome;

namespace {

// More would not leave it one page.
constexpr std::size_t most_tasks = 9;
constexpr std::size_t most_tasks_of_many = 6;
constexpr std::size_t many_units = 10;

constexpr std::array single_columns{Quantity::miss_index, Quantity::multiples_index,
                                    Quantity::offset_mm};
constexpr std::array portion_columns{Quantity::exact_share, Quantity::empty_share,
                                     Quantity::offset_mm};
constexpr std::array line_columns{Quantity::rate_error, Quantity::cv, Quantity::mean_per_m};

std::span<const Quantity> columns_of(Mode mode) {
    switch (mode) {
    case Mode::single:
        return single_columns;
    case Mode::portion:
        return portion_columns;
    case Mode::line:
        return line_columns;
    }
    throw BrokenInvariant("a mode without columns");
}

// A judged value before the one as seen: the sheet shows what the verdict rests on.
std::optional<statistics::Estimate> estimate_of(const audit::ChannelReport& channel,
                                                Quantity quantity) {
    for (const verdict::Criterion& criterion : channel.judgement.criteria)
        if (criterion.limit.quantity == quantity && criterion.estimate)
            return criterion.estimate;
    for (const QuantityGroup& group : quantity_groups(channel))
        for (const ReportedQuantity& row : group.rows)
            if (row.key == key_of(quantity))
                return row.estimate;
    return std::nullopt;
}

// The column's head has it.
std::string without_unit(std::string text, Unit unit) {
    const std::string symbol = " " + std::string(symbol_of(unit));
    for (std::size_t at = text.find(symbol); symbol.size() > 1 && at != std::string::npos;
         at = text.find(symbol))
        text.erase(at, symbol.size());
    return text;
}

std::string cell(const audit::ChannelReport& channel, Quantity quantity) {
    const auto found = estimate_of(channel, quantity);
    if (!found)
        return "not defined";
    const Unit unit = unit_of(quantity);
    if (quantity == Quantity::offset_mm && channel.placement() != nullptr)
        return without_unit(
            place_words(*found, channel.placement()->direction, decimals_of(*found, unit)), unit);
    const std::string interval = interval_words(*found, unit);
    return without_unit(fmt::format("{} ({})", value_words(*found, unit),
                                    interval.empty() ? "no interval" : interval),
                        unit);
}

std::string headed(Quantity quantity) {
    const std::string symbol(symbol_of(unit_of(quantity)));
    return plain_name(quantity) + (symbol.empty() ? "" : ", " + symbol);
}

std::string name_of(const audit::ChannelReport& channel) {
    return channel.unit.empty() ? fmt::format("channel {}", channel.channel) : channel.unit;
}

SheetUnit unit_of_sheet(const audit::AuditReport& report, const audit::ChannelReport& channel) {
    SheetUnit unit{.outcome = channel.judgement.outcome,
                   .row = channel.row ? fmt::format("{}", *channel.row) : "",
                   .unit = name_of(channel),
                   .counted = grouped(channel.counted().count),
                   .found = {}};
    for (const Quantity quantity : columns_of(report.setup.mode))
        unit.found.push_back(cell(channel, quantity));
    return unit;
}

void add_tasks(const audit::AuditReport& report, MachineSheet& sheet) {
    for (const audit::Contradicted& found : report.contradictions)
        if (!found.channel && report.channels.size() > 1)
            sheet.tasks.push_back({"all units", found.what, found.remedy});
    for (const audit::ChannelReport* const channel : worst_first(report)) {
        Advice what = advice(report, *channel);
        if (!what.next.empty())
            sheet.tasks.push_back({name_of(*channel), std::move(what.cause), std::move(what.next)});
    }
    const std::size_t most = report.channels.size() > many_units ? most_tasks_of_many : most_tasks;
    if (sheet.tasks.size() <= most)
        return;
    sheet.tasks_left_out = sheet.tasks.size() - most;
    sheet.tasks.resize(most);
}

std::string lead_words(const audit::AuditReport& report) {
    const auto count = [&](Outcome outcome) {
        return std::count_if(report.channels.begin(), report.channels.end(),
                             [&](const audit::ChannelReport& channel) {
                                 return channel.judgement.outcome == outcome;
                             });
    };
    return fmt::format("{}: {} within, {} outside, {} undecided.",
                       counted(report.channels.size(), "unit"), count(Outcome::within),
                       count(Outcome::outside), count(Outcome::undecided));
}

std::string subject_words(const audit::AuditReport& report) {
    std::string text = report.file;
    if (!report.started.empty())
        text += ", " + started_words(report);
    for (const char* const key : {"bench", "operator"})
        if (const std::string* const value = report.header.find(key))
            text += fmt::format(", {} {}", key, *value);
    return text;
}

std::string gate_text(const ledger::Gate& gate) {
    if (gate.place_assumed)
        return fmt::format("gate {}: place not stated", gate.number);
    if (gate.place == ledger::GatePlace::above)
        return fmt::format("gate {} above the valve", gate.number);
    return fmt::format("gate {} below, seeds fall {:.1f} ms{}", gate.number,
                       static_cast<double>(gate.fall_us) / 1000.0,
                       gate.fall_assumed ? " (assumed)" : "");
}

std::string gates_text(const ledger::ChannelSetup& setup) {
    std::string text;
    for (const ledger::Gate& gate : setup.gates)
        text += (text.empty() ? "" : "; ") + gate_text(gate);
    return text.empty() ? "none stated" : text;
}

std::string lead_text(const ledger::ChannelSetup& setup) {
    return setup.lead_us ? fmt::format("{:.1f} ms", static_cast<double>(*setup.lead_us) / 1000.0)
                         : "none stated";
}

// One text where all units have the same, else one a unit.
template <class Text> std::string by_unit(const audit::AuditReport& report, const Text& text_of) {
    std::map<std::string, std::vector<std::string>> units;
    for (const audit::ChannelReport& channel : report.channels)
        units[text_of(report.setup.channel(channel.channel))].push_back(name_of(channel));
    if (units.size() == 1)
        return units.begin()->first;
    std::string all;
    for (const auto& [text, names] : units) {
        all += all.empty() ? "" : "; ";
        for (std::size_t i = 0; i < names.size(); ++i)
            all += (i == 0 ? "" : ", ") + names[i];
        all += ": " + text;
    }
    return all;
}

std::string limits_text(const verdict::Profile& profile) {
    std::string text;
    for (const verdict::Limit& limit : profile.limits)
        text += (text.empty() ? "" : "; ") + plain_name(limit.quantity) + " " + limit_words(limit);
    return text.empty() ? "none: nothing is judged" : text;
}

void add_settings(const audit::AuditReport& report, MachineSheet& sheet) {
    for (const ContextRow& row : context_rows(report))
        for (const char* const wanted :
             {"run", "crop", "seed lot", "thousand-seed mass", "mode", "profile", "calibration"})
            if (row.label == wanted)
                sheet.set.push_back(row);
    sheet.set.push_back({"limits", limits_text(report.profile)});
    sheet.set.push_back({"gates", by_unit(report, gates_text)});
    if (report.setup.mode != Mode::line)
        sheet.set.push_back({"lead", by_unit(report, lead_text)});
}

std::string document_words(const audit::AuditReport& report) {
    std::string text;
    for (const std::string& sentence : integrity_sentences(report))
        text += (text.empty() ? "" : " ") + sentence;
    return text;
}

} // namespace

std::optional<MachineSheet> machine_sheet(const audit::AuditReport& report) {
    if (report.from_spacings)
        return std::nullopt;
    MachineSheet sheet{.title = std::string(outcome_words(report.outcome)),
                       .lead = lead_words(report),
                       .subject = subject_words(report),
                       .counted_what = report.channels.empty()
                                           ? "n"
                                           : std::string(report.channels.front().counted().what),
                       .columns = {},
                       .units = {},
                       .tasks = {},
                       .tasks_left_out = 0,
                       .set = {},
                       .cautions = cautions(),
                       .document = document_words(report)};
    for (const Quantity quantity : columns_of(report.setup.mode))
        sheet.columns.push_back(headed(quantity));
    for (const audit::ChannelReport& channel : report.channels)
        sheet.units.push_back(unit_of_sheet(report, channel));
    std::stable_sort(sheet.units.begin(), sheet.units.end(),
                     [](const SheetUnit& a, const SheetUnit& b) {
                         return std::pair{a.row.size(), a.row} < std::pair{b.row.size(), b.row};
                     });
    add_tasks(report, sheet);
    add_settings(report, sheet);
    return sheet;
}

} // namespace dropledger::report
