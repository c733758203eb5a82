// A certificate in sentences and rows, for its pages.
#pragma once

#include "analysis/batch/certificate/certificate.hpp"
#include "analysis/measures/number_words.hpp"

#include <string>
#include <vector>

namespace dropledger::report::certificate {

struct Fact {
    std::string label;
    std::string text;
};

[[nodiscard]] std::string title(const batch::Certificate& certificate);
// How many, how many tested, how many failed, what the plan says to it.
[[nodiscard]] std::string lead(const batch::Certificate& certificate);
// What a test report names first: issuer, client, goods.
[[nodiscard]] std::vector<Fact> report_facts(const batch::Certificate& certificate);
[[nodiscard]] std::vector<Fact> facts(const batch::Certificate& certificate);
// When a run is within, a unit conforming and a batch accepted, and with which risks.
[[nodiscard]] std::vector<std::string> decision_rule(const batch::Certificate& certificate);
// With its edition.
[[nodiscard]] std::vector<std::string> method(const batch::Certificate& certificate);
// The signed points of the operating characteristic, as one sentence; empty where there are none.
[[nodiscard]] std::string risks(const batch::CertifiedPlan& plan);
// What to expect of all units, tested or not.
[[nodiscard]] std::vector<std::string> expectations(const batch::BatchStatistics& found);
// Under which the counted runs were made, a sentence each.
[[nodiscard]] std::vector<std::string> conditions(const batch::Certificate& certificate);
// "99.9 % (99.6 to 100 %), two gates": the counting efficiency of a record, and how it was found.
[[nodiscard]] std::string efficiency_words(const batch::UsedCalibration& calibration);

// How a reader checks it without trusting anybody's word: a sentence, and what to type or compare.
struct Check {
    std::string sentence;
    std::string exact;
};
[[nodiscard]] std::vector<Check> checking(const batch::Certificate& certificate,
                                          const std::string& attachment);

// "2026-02-01 10:00 UTC" of an RFC 3339 time in UTC; any other text as it is.
[[nodiscard]] std::string time_words(const std::string& time);

// Never zeros for something: "below 0.0001 %".
[[nodiscard]] std::string estimate_value(const statistics::Estimate& estimate, Unit unit);
[[nodiscard]] std::string estimate_interval(const statistics::Estimate& estimate, Unit unit);
[[nodiscard]] std::string result_words(const batch::LimitResult& result);
[[nodiscard]] std::string limit_head(const verdict::Limit& limit); // "miss index M at most 5 %"

// Shares of one run: "1.40 % (0.9 to 2.1 %)".
[[nodiscard]] std::string share_words(const statistics::Estimate& share);

// The name of the JSON file inside the PDF: letters, digits, dot, hyphen and underline only.
[[nodiscard]] std::string attachment_name(const batch::Certificate& certificate);

} // namespace dropledger::report::certificate
