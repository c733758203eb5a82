#include "bench/commands/run/run_calibration.hpp"

#include "bench/book/judging.hpp"
#include "bench/commands/inputs/calibrations.hpp"
#include "bench/commands/inputs/profiles.hpp"
#include "bench/commands/shell/usage.hpp"
#include "calibration/record/applied.hpp"
#include "calibration/record/choice.hpp"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>

namespace dropledger::cli {

namespace {

using calibration::Record;
using Records = std::vector<Record>;
using Sentences = std::vector<std::string>;

// The plan as the log's head will say it, so that a run is calibrated by the same rules as its
// audit.
droplog::Header header_of(const recorder::RunPlan& plan, const std::string& day) {
    droplog::Header header;
    header.run_id = plan.run_id;
    header.started = day + "T00:00:00Z";
    for (const recorder::Setting& one : plan.settings)
        header.run[one.key] = one.value;
    for (const recorder::ChannelSetting& one : plan.channel_settings)
        header.channels[one.channel][one.key] = one.value;
    return header;
}

// Files are read, ids looked up in the book; without a book an id is only written down.
struct Named {
    Records records;
    std::vector<std::string> ids;
    Sentences unchecked;
};

Result<Named> named_ones(const std::string& names, const Records& in_book, bool has_book) {
    Named found;
    for (const std::string& name : calibration::ids_in(names)) {
        if (names_a_file(name)) {
            auto record = read_record(name);
            if (!record)
                return record.error();
            found.ids.push_back(record->id);
            found.records.push_back(*std::move(record));
            continue;
        }
        const auto at = std::find_if(in_book.begin(), in_book.end(),
                                     [&](const Record& one) { return one.id == name; });
        if (at == in_book.end() && has_book)
            return usage("--calibration", fmt::format("the book has no calibration '{}'", name),
                         "enter it (dropledger book add FILE), or name its file");
        found.ids.push_back(name);
        if (at != in_book.end())
            found.records.push_back(*at);
        else
            found.unchecked.push_back(fmt::format(
                "Calibration {} is written into the log and was not looked at: name its "
                "file, or the book that holds it with --book.",
                name));
    }
    return found;
}

bool stated(const recorder::RunPlan& plan, int channel, const std::string& key) {
    return std::any_of(plan.channel_settings.begin(), plan.channel_settings.end(),
                       [&](const recorder::ChannelSetting& one) {
                           return one.channel == channel && one.key == key;
                       });
}

// Flight times that the calibration knows and the operator did not state.
void take_flights(const ledger::RunSetup& setup, const audit::Calibrated& calibrated,
                  recorder::RunPlan& plan) {
    for (const auto& [where, gate] : calibrated.gates) {
        const auto& [channel, number] = where;
        const std::string key = fmt::format("gate{}_fall_us", number);
        if (!gate.flight_u_us || stated(plan, channel, key))
            continue;
        for (const ledger::Gate& one : setup.channels.at(channel).gates)
            if (one.number == number)
                plan.channel_settings.push_back({channel, key, std::to_string(one.fall_us)});
    }
}

void say_leads(const Records& records, const droplog::Header& header, const std::string& day,
               Sentences& says) {
    for (const auto& [channel, settings] : header.channels) {
        const auto unit = settings.find("unit");
        const std::string* const bench = header.find("bench");
        const std::string* const crop = header.find("crop");
        calibration::GateOfRun wanted;
        wanted.unit = unit == settings.end() ? "" : unit->second;
        wanted.bench = bench == nullptr ? "" : *bench;
        wanted.crop = crop == nullptr ? "" : *crop;
        wanted.day = day;
        const Record* const record = calibration::chosen_lead(records, wanted);
        if (record == nullptr || !record->lead->lead_to_set_us)
            continue;
        const auto in_force = header.number(channel, "lead_us");
        if (in_force == record->lead->lead_to_set_us)
            continue;
        says.push_back(fmt::format("Calibration {} wants the lead of channel {} at {} us; {}.",
                                   record->id, channel, *record->lead->lead_to_set_us,
                                   in_force
                                       ? fmt::format("{} us are in force", *in_force)
                                       : "the log will not say which is in force (--lead-us)"));
    }
}

} // namespace

Result<Sentences> calibrate_plan(const RunOptions& options, const book::Book* book,
                                 const std::string& day, recorder::RunPlan& plan) {
    if (!options.calibration && book == nullptr)
        return Sentences{};
    const auto in_book =
        book == nullptr ? Result<Records>{Records{}} : book::calibration_records(*book);
    if (!in_book)
        return in_book.error();
    auto named = named_ones(options.calibration.value_or(""), *in_book, book != nullptr);
    if (!named)
        return named.error();
    const droplog::Header header = header_of(plan, day);
    auto setup = ledger::run_setup(header, {});
    if (!setup)
        return setup.error();
    const Records& records = options.calibration ? named->records : *in_book;
    const auto calibrate =
        options.calibration
            ? calibration::applying(records, {.anyway = options.calibration_anyway, .today = day})
            : calibration::choosing_from(records);
    const auto calibrated = calibrate(header, *setup);
    if (!calibrated)
        return calibrated.error();
    take_flights(*setup, *calibrated, plan);
    const std::string ids =
        options.calibration ? fmt::format("{}", fmt::join(named->ids, ", ")) : calibrated->id;
    if (const Status fits = ids.empty() ? Status{Done{}} : check_text("--calibration", ids); !fits)
        return fits.error();
    if (!ids.empty())
        plan.settings.push_back({"calibration", ids});
    Sentences says = calibrated->notes;
    says.insert(says.end(), named->unchecked.begin(), named->unchecked.end());
    say_leads(records, header, day, says);
    return says;
}

} // namespace dropledger::cli
