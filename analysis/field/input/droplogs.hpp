// A field as the logs made on the machine tell it: each log is one pass of each of its channels.
//
// Passes are numbered by when the logs began (in the order given where two began at once or any log
// does not say). A channel is the row that the log states, else its number plus one. The gate is
// the one that an audit would let judge.
// Assumes: a log has no lines for alerts: there are none to judge. Places are made up, for a log
// knows only travel: north is travel from the pass's first drop, every second pass runs back
// (unless they all run the same way), passes lie side by side in their order with `row_spacing_mm`
// between rows.
// Units: in the names; a time is the log's start plus the controller's clock.
// Memory: 56 bytes a drop.
// Undefined when: a log is of a line: no drops are commanded there, it is refused.
#pragma once

#include "analysis/base/readers/byte_source.hpp"
#include "analysis/field/input/drops.hpp"

#include <string>
#include <vector>

namespace dropledger::field {

struct DroplogOptions {
    double row_spacing_mm = 500.0;
    bool same_direction = false;
};

struct NamedLog {
    std::string file;
    OpenBytes open;
};

// Whether the bytes begin as a droplog does.
[[nodiscard]] Result<bool> is_droplog(const OpenBytes& open);

[[nodiscard]] Result<Field> read_droplogs(const std::vector<NamedLog>& logs,
                                          const DroplogOptions& options);

} // namespace dropledger::field
