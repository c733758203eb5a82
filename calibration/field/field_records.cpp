#include "calibration/field/field_records.hpp"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <chrono>

namespace dropledger::calibration {

namespace {

using field::Field;
using field::GateEfficiencies;

Error wrong(std::string what, std::string remedy) {
    return usage_error("calibration", std::move(what), std::move(remedy));
}

// The day of the last drop; empty where the field has no time.
std::string last_day(const Field& field) {
    double last_s = 0.0;
    for (const auto& [key, line] : field.lines)
        if (!line.empty())
            last_s = std::max(last_s, line.last().time_s);
    if (!field.has_time || !field.facts.has_dates || !(last_s > 0.0) || last_s > 1e11)
        return {};
    const std::chrono::sys_seconds instant{std::chrono::seconds{static_cast<std::int64_t>(last_s)}};
    const std::chrono::year_month_day day{std::chrono::floor<std::chrono::days>(instant)};
    return fmt::format("{:04}-{:02}-{:02}", static_cast<int>(day.year()),
                       static_cast<unsigned>(day.month()), static_cast<unsigned>(day.day()));
}

std::string unit_of(const Field& field, std::int64_t row) {
    const auto found = field.units.find(row);
    return found == field.units.end() ? std::string{} : found->second;
}

// The row named, else those that the record's unit sits in.
Result<std::vector<std::int64_t>> rows_for(const RowRecord& named, const Field& field) {
    const Record& record = named.record;
    if (named.row)
        return std::vector<std::int64_t>{*named.row};
    if (field.units.empty())
        return wrong(fmt::format("{}: a table does not say which unit sows which row", named.file),
                     "name the row: `calibration` ROW=" + named.file);
    std::vector<std::int64_t> rows;
    for (const auto& [row, unit] : field.units)
        if (record.holds_for.unit.empty() || record.holds_for.unit == unit)
            rows.push_back(row);
    if (rows.empty())
        return wrong(fmt::format("calibration {} is for unit '{}', which no log has", record.id,
                                 record.holds_for.unit),
                     "name the right record, or its row: `calibration` ROW=" + named.file);
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
    Adding(bool anyway, Field& field) : anyway_(anyway), field_(&field), day_(last_day(field)) {}

    Status add(const RowRecord& from, GateEfficiencies& efficiencies) const {
        const Record& record = from.record;
        if (!record.efficiency)
            return wrong(fmt::format("calibration {} holds no counting efficiency", record.id),
                         "make one with dropledger calibrate efficiency, and write it");
        const auto rows = rows_for(from, *field_);
        if (!rows)
            return rows.error();
        for (const std::int64_t row : *rows)
            if (Status added = add_to(row, record, efficiencies); !added)
                return added;
        return Done{};
    }

private:
    Status add_to(std::int64_t row, const Record& record, GateEfficiencies& efficiencies) const {
        const auto differences = unlike(record, *field_, row);
        if (!differences.empty() && !anyway_)
            return usage_error(
                fmt::format("calibration {}", record.id),
                fmt::format("it is for another than row {}: {}", row, fmt::join(differences, "; ")),
                "name the right one, or take it all the same with `calibration_anyway`");
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
            return wrong(fmt::format("row {} has two gate efficiencies", row), "give one");
        return Done{};
    }

    bool anyway_;
    Field* field_;
    std::string day_;
};

} // namespace

Status add_efficiencies(const std::vector<RowRecord>& records, bool anyway, Field& field,
                        GateEfficiencies& efficiencies) {
    const Adding adding(anyway, field);
    for (const RowRecord& one : records)
        if (Status added = adding.add(one, efficiencies); !added)
            return added;
    return Done{};
}

} // namespace dropledger::calibration
