// The quantities of one channel in the order in which a report prints them, each with its name in
// words, its unit, what its n counts, and the section of the measures that defines it.
//
// Every output takes its estimates from here or from the same fields of the model, so that they
// cannot differ.
// Undefined when: an estimate is empty; the channel's notes say why.
#pragma once

#include "analysis/audit/model/audit_report.hpp"
#include "analysis/measures/quantity.hpp"

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

namespace dropledger::report {

using measures::Unit;

struct ReportedQuantity {
    std::string key; // as in the JSON
    std::string name;
    Unit unit = Unit::ratio;
    std::optional<statistics::Estimate> estimate;
    std::int64_t n = 0;
    std::string n_of; // what n counts
};

struct QuantityGroup {
    std::string key; // as in the JSON
    std::string title;
    std::string section; // of the measures
    std::vector<ReportedQuantity> rows;
};

[[nodiscard]] std::vector<QuantityGroup> quantity_groups(const audit::ChannelReport& channel);

} // namespace dropledger::report
