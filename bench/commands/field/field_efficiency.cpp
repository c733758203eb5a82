#include "bench/commands/field/field_efficiency.hpp"

#include "analysis/base/dates.hpp"
#include "analysis/base/text.hpp"
#include "bench/commands/inputs/calibrations.hpp"
#include "bench/commands/shell/usage.hpp"
#include "calibration/field/field_records.hpp"

#include <fmt/format.h>

namespace dropledger::cli {

namespace {

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

struct Named {
    std::optional<std::int64_t> row;
    std::string file;
};

Named named(const std::string& given) {
    const std::size_t at = given.find('=');
    const auto row = at == std::string::npos ? std::nullopt : parse_int(given.substr(0, at));
    return row ? Named{row, given.substr(at + 1)} : Named{std::nullopt, given};
}

} // namespace

Result<GateEfficiencies> gate_efficiencies(const EfficiencyOptions& options, field::Field& field) {
    GateEfficiencies efficiencies;
    if (const Status added = add_shares(options.shares, efficiencies); !added)
        return added.error();
    std::vector<calibration::RowRecord> records;
    for (const std::string& given : options.calibrations) {
        const Named from = named(given);
        auto record = read_record(from.file);
        if (!record)
            return record.error();
        records.push_back({from.row, from.file, *std::move(record)});
    }
    if (const Status added =
            calibration::add_efficiencies(records, options.anyway, field, efficiencies);
        !added)
        return added.error();
    return efficiencies;
}

} // namespace dropledger::cli
