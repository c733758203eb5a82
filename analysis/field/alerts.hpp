// Alerts and the gaps that they belong to.
//
// A machine may raise its alert at a silent drop, or some drops behind it. The delay is learnt: the
// one at which most alerts stand so many drops behind a run of silent drops of one same length.
// Where most alerts stand at a silent drop already, as they do where a machine counts the silent
// ones of the last few drops, there is none. An alert belongs to the gap at the drop that set it
// off, else to the nearest one within `slack` drops before; at the beginning of a pass that may be the
// last one of the row's pass before it. Undefined when: fewer than five alerts: each belongs to the
// gap it stands in, else to the nearest one before. An alert with no gap within reach can't be told.
#pragma once

#include "analysis/field/audit.hpp"

#include <array>
#include <vector>

namespace dropledger::field {

class AlertCounts {
public:
    static constexpr std::int64_t longest_delay = 60;
    static constexpr std::int64_t longest_run = 60; // longer ones count as one

    // The drops of one line.
    void add(const LineKey& key, const std::vector<FieldDrop>& drops);

    [[nodiscard]] std::optional<AlertDelay> delay() const;
    [[nodiscard]] const std::vector<Alert>& alerts() const { return alerts_; }

private:
    std::vector<Alert> alerts_;
    // Alerts by delay and by the silent run that ends so many drops before.
    std::array<std::array<std::int64_t, longest_run + 1>, longest_delay + 1> runs_{};
};

// Fills alerts, alert_delay, silent_alarms and alert_after_drops, and counts alerts in the gaps.
void add_alerts(const AlertCounts& counts, FieldAudit& audit);

} // namespace dropledger::field
