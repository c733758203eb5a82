#include "bench/commands/inputs/calibrations.hpp"

#include "analysis/base/dates.hpp"
#include "analysis/base/results.hpp"
#include "analysis/droplog/soundness.hpp"
#include "bench/commands/inputs/checked_log.hpp"
#include "bench/commands/shell/dates.hpp"
#include "bench/commands/shell/standard.hpp"
#include "bench/commands/shell/usage.hpp"
#include "bench/io/file_hash.hpp"
#include "bench/io/file_lock.hpp"
#include "bench/io/file_source.hpp"
#include "bench/io/write_aside.hpp"
#include "calibration/record/applied.hpp"

#include <fmt/format.h>

#include <array>
#include <filesystem>
#include <map>
#include <utility>

namespace dropledger::cli {

using calibration::Record;

namespace {

Status check(const WriteOptions& options) {
    if (!options.id || options.id->empty())
        return usage("--id", "a calibration needs a name of its own",
                     "say --id, such as CAL-U0101-2026");
    for (const auto& [name, date] :
         {std::pair{"--date", &options.date}, std::pair{"--expires", &options.expires}})
        if (*date && !is_date(**date))
            return usage(name, fmt::format("'{}' is no date", **date), "YYYY-MM-DD");
    if (options.expires && *options.expires < options.date.value_or(today_utc()))
        return usage("--expires",
                     fmt::format("{} lies before the calibration's day", *options.expires),
                     "give its last day");
    if (options.seed_mm_low.has_value() != options.seed_mm_high.has_value())
        return usage("--seed-mm-low", "a size range has two ends",
                     "give --seed-mm-low and --seed-mm-high");
    return Done{};
}

// The channel that was calibrated: the one named, else the only one.
std::string unit_in(const droplog::Header& header, std::optional<int> channel) {
    if (!channel && header.channels.size() == 1)
        channel = header.channels.begin()->first;
    const std::string* const unit = channel ? header.find(*channel, "unit") : nullptr;
    return unit == nullptr ? std::string{} : *unit;
}

Status fill_from_log(const WrittenFrom& from, Record& record) {
    if (from.logs.empty())
        return Done{};
    const auto reading = read_checked(from.logs.front());
    if (!reading)
        return reading.error();
    const droplog::Header& header = reading->header;
    if (const std::string* const bench = header.find("bench"))
        record.holds_for.bench = *bench;
    if (const std::string* const crop = header.find("crop"))
        record.holds_for.crop = *crop;
    const bool benchs_gate =
        record.holds_for.gate > 0 && !record.holds_for.bench.empty() && header.channels.size() == 1;
    if (benchs_gate) // it stays where it is, whichever unit hangs on it
        tell("the record holds for gate {} of bench {}, whichever unit hangs on it (--unit UNIT "
             "for one)\n",
             record.holds_for.gate, record.holds_for.bench);
    else
        record.holds_for.unit = unit_in(header, from.channel);
    return Done{};
}

Status add_hashes(const WrittenFrom& from, Record& record) {
    for (const auto* list : {&from.logs, &from.tables})
        for (std::size_t i = 0; i < list->size(); ++i) {
            const std::string& file = list->at(i);
            auto hash = files::hash_of(file);
            if (!hash)
                return hash.error();
            const bool matched = list == &from.logs && i < from.matched.size();
            record.inputs.push_back({std::filesystem::path(file).filename().string(),
                                     *std::move(hash),
                                     matched ? std::optional{from.matched[i]} : std::nullopt});
        }
    return Done{};
}

} // namespace

Result<Record> read_record(const std::string& file) {
    constexpr std::size_t longest = std::size_t{1} << 20U; // bytes
    return files::whole_file(file, longest).and_then([&](const std::string& text) {
        return calibration::parse_record(text, file);
    });
}

Result<audit::Calibrate> calibration_chooser(const std::vector<std::string>& files, bool anyway) {
    if (files.empty())
        return audit::Calibrate{};
    return read_records(files).transform([&](std::vector<Record> records) {
        return calibration::applying(std::move(records), {.anyway = anyway, .today = today_utc()});
    });
}

Result<std::vector<Record>> read_records(const std::vector<std::string>& files) {
    return each(files, read_record);
}

void add_write_options(Command& command, WriteOptions& options) {
    command
        .option("--write", options.write,
                "also write a calibration record; an existing one of the same id is extended")
        .option("--id", options.id, "name of the calibration")
        .option("--date", options.date, "its day, YYYY-MM-DD; today where not said")
        .option("--expires", options.expires, "its last day; a year from today where not said")
        .option("--bench", options.bench,
                "bench that it holds for; of the log where not said, else any")
        .option("--unit", options.unit, "unit that it holds for")
        .option("--crop", options.crop, "crop that it holds for")
        .option("--seed-mm-low", options.seed_mm_low, "smallest seed that it holds for")
        .option("--seed-mm-high", options.seed_mm_high, "largest seed that it holds for");
}

Status fit_logs(const std::vector<std::string>& logs, const WriteOptions& options) {
    std::map<std::string, std::string> seen;
    for (const std::string& file : logs) {
        const auto reading = read_checked(file);
        if (!reading)
            return reading.error();
        const std::string& run = reading->header.run_id;
        const auto [twin, is_new] = seen.emplace(run.empty() ? file : run, file);
        if (!is_new)
            return usage("LOG", fmt::format("{} and {} are the same run", twin->second, file),
                         "give every run once");
        if (reading->integrity.complete() && droplog::is_sound(reading->integrity))
            continue;
        if (options.write)
            return usage("--write", fmt::format("{} is not whole", file),
                         "see dropledger check; a record needs complete logs with unbroken seals");
        tell("{} is not whole (dropledger check): no record could be written from it\n", file);
    }
    return Done{};
}

namespace {

// What the options say of what the record holds for goes before what the log says.
void take_said(const WriteOptions& options, Record& record) {
    const std::array<std::pair<const std::optional<std::string>*, std::string*>, 3> said{
        {{&options.bench, &record.holds_for.bench},
         {&options.unit, &record.holds_for.unit},
         {&options.crop, &record.holds_for.crop}}};
    for (const auto& [option, target] : said)
        if (*option)
            *target = **option;
    if (options.seed_mm_low)
        record.holds_for.seed_mm =
            statistics::Interval{*options.seed_mm_low, *options.seed_mm_high};
}

// Beside what the file holds already, which is kept from others meanwhile; else a new file.
Status write_beside(const std::string& file, const Record& record) {
    if (!std::filesystem::exists(file))
        return files::write_new_file(file, calibration::to_toml(record));
    const auto lock = files::FileLock::hold(file);
    if (!lock)
        return lock.error();
    auto kept = read_record(file);
    if (!kept)
        return kept.error();
    const auto both = calibration::joined(*std::move(kept), record);
    if (!both)
        return both.error();
    return files::write_file_aside(file, calibration::to_toml(*both));
}

} // namespace

Status write_record(const WriteOptions& options, Record record, const WrittenFrom& from) {
    if (!options.write)
        return Done{};
    if (const Status status = check(options); !status)
        return status;
    record.id = *options.id;
    record.date = options.date.value_or(today_utc());
    record.expires = options.expires.value_or(years_later(today_utc(), 1));
    if (const Status status = fill_from_log(from, record); !status)
        return status;
    take_said(options, record);
    if (const Status status = add_hashes(from, record); !status)
        return status;
    return write_beside(*options.write, record);
}

} // namespace dropledger::cli
