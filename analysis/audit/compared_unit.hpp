// One unit in two runs: which of its quantities can be compared, and the intervals of the
// differences.
//
// Assumes: both reports outlive it. How, and its source: before_after.hpp.
// Undefined when: a quantity cannot be compared: it says why.
#pragma once

#include "analysis/audit/model/audit_report.hpp"
#include "analysis/audit/model/before_after.hpp"

#include <cstddef>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace dropledger::audit {

struct UnitInRun {
    const AuditReport& run;
    const ChannelReport& channel;
};

// What the head of a run's log says; empty where it says nothing.
[[nodiscard]] std::string stated(const AuditReport& run, std::string_view key);

// What one run tells of a quantity.
struct KnownQuantity {
    std::optional<statistics::Estimate> estimate;
    const statistics::MeanLaw* law_um = nullptr; // of a mean place, by itself
};

struct QuantityPair {
    ComparedQuantity shown;
    KnownQuantity before;
    KnownQuantity after;
    bool by_law = false;
};

class UnitPair {
public:
    UnitPair(UnitInRun before, UnitInRun after);

    [[nodiscard]] std::size_t comparable() const; // quantities
    // `each`: the level of one difference's interval.
    [[nodiscard]] ComparedUnit compared(Confidence each) const;

private:
    UnitInRun before_;
    UnitInRun after_;
    std::string why_not_;
    std::vector<QuantityPair> pairs_;
};

} // namespace dropledger::audit
