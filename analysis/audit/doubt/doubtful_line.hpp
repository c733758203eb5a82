// Where a line's evidence can't carry a verdict; and how much of what was travelled was not sown.
//
// A line has no commanded drops to miss: where its unit stops, or its gate dies, there are only no
// landings any more. Way without a seed beyond its ends is therefore part of the line from fifty
// seeds' worth on, less what travel may take to set the unit going and to stop (2 s).
// Units: µm. Assumes: travel is over, the measures are there.
#pragma once

#include "analysis/audit/model/audit_report.hpp"

namespace dropledger::audit {

// Beyond the first and the last landing, all segments of the log together; 0 where it is no more
// than a line's ends may have.
[[nodiscard]] std::int64_t unsown_um(const ledger::RunSetup& setup,
                                     const ledger::TravelExtent& travelled,
                                     const measures::LineTally& line);

void add_doubtful_line(const ChannelReport& channel, AuditReport& report);

// Of portions and lines with two gates: the judging one saw more than was asked, and the other no
// more than that.
void add_more_than_asked(const ChannelReport& channel, AuditReport& report);

} // namespace dropledger::audit
