// What the rule by which a run stopped itself came to, in sentences.
#pragma once

#include "analysis/audit/model/audit_report.hpp"

#include <string>
#include <string_view>
#include <vector>

namespace dropledger::report {

[[nodiscard]] std::string decision_words(const audit::SequentialResult& result,
                                         std::string_view what);
// Empty where the log states no rule.
[[nodiscard]] std::vector<std::string> stop_sentences(const audit::AuditReport& report,
                                                      const audit::ChannelReport& channel);

// Of units that the run called good and the audit does not call within: what else the audit judges.
[[nodiscard]] std::vector<std::string> stop_disagreements(const audit::AuditReport& report);

} // namespace dropledger::report
