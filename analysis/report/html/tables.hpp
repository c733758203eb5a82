// The tables of a channel's section: ledger with its identities, spacing classes, quantities,
// pulses by gate.
//
// Undefined when: the channel has no such part: empty strings.
#pragma once

#include "analysis/audit/model/audit_report.hpp"
#include "analysis/report/words/quantities.hpp"

#include <string>

namespace dropledger::report::html {

[[nodiscard]] std::string ledger_table(const audit::ChannelReport& channel);
[[nodiscard]] std::string class_table(const measures::SpacingResult& spacing);
[[nodiscard]] std::string quantity_table(const QuantityGroup& group, Confidence confidence);
[[nodiscard]] std::string pulse_table(const audit::ChannelReport& channel);

// <h3> with the section of the measures that defines what follows.
[[nodiscard]] std::string heading(std::string_view text, std::string_view section);
[[nodiscard]] std::string paragraph(std::string_view text, std::string_view style = {});
[[nodiscard]] std::string bullet_list(const std::vector<std::string>& sentences);
[[nodiscard]] std::string outcome_tag(verdict::Outcome outcome);

} // namespace dropledger::report::html
