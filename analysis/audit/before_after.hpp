// Compares a run with an earlier one of the same units: what has changed, as far as both can show.
//
// Assumes: both audits are by the same profile; whoever chose the units for the retest may have
// chosen them by the first run's result.
// How: the interval of a difference follows from those of both runs, each end from the limits that
// face it, in quadrature (MOVER). All intervals of a comparison hold together: each is stretched from
// its own level to 1 - (1 - confidence)/m, as a normal's, where m counts the quantities of all units
// of the larger run: the worst of six units looks better the next time with nothing done to it, and
// that choice is paid for. A mean placement error is compared by what each run tells of its own mean
// where gate, fall and seed are the same: what they leave open moves both alike.
// Undefined when: the runs cannot be compared (another profile, mode, spacing or speed; a log that is
// incomplete or does not hold; evidence that contradicts itself): an error that says which.
// Source: Zou & Donner 2008, Statistics in Medicine 27:1693-1702; for shares Newcombe 1998, ibid.
// 17:873-890 (both cited from memory). How often it is wrong: tests/analysis/audit/before_after_test.cpp.
#pragma once

#include "analysis/audit/model/audit_report.hpp"
#include "analysis/audit/model/before_after.hpp"
#include "analysis/base/result.hpp"

namespace dropledger::audit {

[[nodiscard]] Result<BeforeAfter> before_and_after(const AuditReport& before,
                                                   const AuditReport& after);

// Of two estimates of independent runs, each limit stretched to `level`; nothing where one has no
// interval.
[[nodiscard]] std::optional<statistics::Interval> difference_of(const statistics::Estimate& before,
                                                                const statistics::Estimate& after,
                                                                Confidence level);

} // namespace dropledger::audit
