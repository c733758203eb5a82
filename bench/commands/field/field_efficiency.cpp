#include "bench/commands/field/field_efficiency.hpp"

#include "analysis/base/dates.hpp"
#include "analysis/base/text.hpp"
#include "bench/commands/inputs/calibrations.hpp"
#include "bench/commands/shell/usage.hpp"

#include <fmt/format.h>

#include <algorithm>

namespace dropledger::cli {

namespace {

using calibration::Record;
using field::Field;
using field::GateEfficiencies;

Status add_shares(const std::vector<std::string>& given, GateEfficiencies& efficiencies) {
    for (const std::string& one : given) {
        const auto parts = split(one, '=');
        const auto row = parse_int(parts.front());
        const auto share = parts.size() == 2 ? parse_double(parts[1]) : std::nullopt;
        if (!row || !share || !(*share > 0.0 && *share <= 1.0))
            return usage("--gate-efficiency", fmt::format("'{}' is not ROW=SHARE", one),
                         "give the row's number and a share over 0 and up to 1, say 3=0.97");
        if (!efficiencies.emplace(*row, *share).second)
            return usage("--gate-efficiency", fmt::format("row {} is given twice", *row),
                         "give it once");
    }
    return Done{};
}

// The day of the last drop; empty where the field has no time.
std::string last_day(const Field& field) {
    double last_s = 0.0;
    for (const auto& [key, line] : field.lines)
        if (!line.empty())
            last_s = std::max({last_s, line.front().time_s, line.back().time_s});
    if (!field.has_time || !(last_s > 0.0) || last_s > 1e11)
        return {};
    return day_text(static_cast<std::int64_t>(last_s));
}

std::string unit_of(const Field& field, std::int64_t row) {
    const auto found = field.units.find(row);
    return found == field.units.end() ? std::string{} : found->second;
}

struct Named {
    std::optional<std::int64_t> row;
    std::string file;
};

Named named(const std::string& given) {
    const std::size_t at = given.find('=');
    const auto row = at == std::string::npos ? std::nullopt : parse_int(given.substr(0, at));
    return row ? Named{row, given.substr(at + 1)} : Named{std::nullopt, given};
}

// The row named, else those that the record's unit sits in.
Result<std::vector<std::int64_t>> rows_for(const Named& named, const Record& record,
                                           const Field& field) {
    if (named.row)
        return std::vector<std::int64_t>{*named.row};
    if (field.units.empty())
        return usage("--calibration",
                     fmt::format("{}: a table does not say which unit sows which row", named.file),
                     "name the row: --calibration ROW=" + named.file);
    std::vector<std::int64_t> rows;
    for (const auto& [row, unit] : field.units)
        if (record.holds_for.unit.empty() || record.holds_for.unit == unit)
            rows.push_back(row);
    if (rows.empty())
        return usage("--calibration",
                     fmt::format("calibration {} is for unit '{}', which no log has", record.id,
                                 record.holds_for.unit),
                     "name the right record, or its row: --calibration ROW=" + named.file);
    return rows;
}

std::vector<std::string> unlike(const Record& record, const Field& field, std::int64_t row) {
    std::vector<std::string> differences;
    const auto compare = [&](const char* what, const std::string& theirs, const std::string& ours) {
        if (!theirs.empty() && !ours.empty() && theirs != ours)
            differences.push_back(fmt::format("{} '{}', the field's is '{}'", what, theirs, ours));
    };
    compare("unit", record.holds_for.unit, unit_of(field, row));
    compare("crop", record.holds_for.crop, field.crop);
    if (record.holds_for.gate != field.gate)
        differences.push_back(fmt::format("gate {}, the field's drops were seen by gate {}",
                                          record.holds_for.gate, field.gate));
    return differences;
}

// What the record holds for and the field does not say.
std::vector<std::string> unchecked(const Record& record, const Field& field, std::int64_t row,
                                   const std::string& day) {
    std::vector<std::string> open;
    if (!record.holds_for.unit.empty() && unit_of(field, row).empty())
        open.push_back(fmt::format("unit '{}'", record.holds_for.unit));
    if (!record.holds_for.crop.empty() && field.crop.empty())
        open.push_back(fmt::format("crop '{}'", record.holds_for.crop));
    if (day.empty())
        open.push_back(fmt::format("expiry on {}", record.expires));
    return open;
}

class Adding {
public:
    Adding(const EfficiencyOptions& options, Field& field)
        : anyway_(options.anyway), field_(&field), day_(last_day(field)) {}

    Status add(const std::string& given, GateEfficiencies& efficiencies) const {
        const Named from = named(given);
        const auto record = read_record(from.file);
        if (!record)
            return record.error();
        if (!record->efficiency)
            return usage("--calibration",
                         fmt::format("calibration {} holds no counting efficiency", record->id),
                         "make one with dropledger calibrate efficiency … --write");
        const auto rows = rows_for(from, *record, *field_);
        if (!rows)
            return rows.error();
        for (const std::int64_t row : *rows)
            if (Status added = add_to(row, *record, efficiencies); !added)
                return added;
        return Done{};
    }

private:
    Status add_to(std::int64_t row, const Record& record, GateEfficiencies& efficiencies) const {
        const auto differences = unlike(record, *field_, row);
        if (!differences.empty() && !anyway_)
            return Error{
                ErrorKind::usage, fmt::format("calibration {}", record.id),
                fmt::format("it is for another than row {}: {}", row, fmt::join(differences, "; ")),
                "name the right one, or take it all the same with --calibration-anyway"};
        if (!differences.empty())
            field_->notes.push_back(fmt::format(
                "Row {}: calibration {} is foreign and was used because it was asked for: it is "
                "for {}.",
                row, record.id, fmt::join(differences, "; ")));
        if (!day_.empty() && day_ > record.expires) {
            field_->notes.push_back(fmt::format("Row {}: calibration {} had expired on {}, before "
                                                "{}: it was not used. Calibrate anew.",
                                                row, record.id, record.expires, day_));
            return Done{};
        }
        if (const auto open = unchecked(record, *field_, row, day_); !open.empty())
            field_->notes.push_back(
                fmt::format("Row {}: calibration {} was taken as named; the input does not say "
                            "enough to check its {}.",
                            row, record.id, fmt::join(open, ", ")));
        field::GateEfficiency efficiency(record.efficiency->value);
        if (record.efficiency->interval) {
            efficiency.low = std::clamp(record.efficiency->interval->low, 0.0, efficiency.value);
            efficiency.high = std::clamp(record.efficiency->interval->high, efficiency.value, 1.0);
        }
        efficiency.source = record.id;
        if (!efficiencies.emplace(row, efficiency).second)
            return usage("--calibration", fmt::format("row {} has two gate efficiencies", row),
                         "give one");
        return Done{};
    }

    bool anyway_;
    Field* field_;
    std::string day_;
};

} // namespace

Result<GateEfficiencies> gate_efficiencies(const EfficiencyOptions& options, Field& field) {
    GateEfficiencies efficiencies;
    if (const Status added = add_shares(options.shares, efficiencies); !added)
        return added.error();
    const Adding adding(options, field);
    for (const std::string& given : options.calibrations)
        if (const Status added = adding.add(given, efficiencies); !added)
            return added.error();
    return efficiencies;
}

} // namespace dropledger::cli
