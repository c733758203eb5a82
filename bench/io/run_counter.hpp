// How many runs a bench's key has been used for, in a small file beside the key: KEY.runs.
//
// Each run takes the next number and the last seal of the run before; both go into its log, so that
// a log that is left out shows as a gap, and one that is exchanged as a seal that does not fit.
// A number is used up when a run is begun, whatever becomes of it.
// Assumes: whoever can write the file can begin the count anew; then numbers stand twice.
// Undefined when: the file is damaged: refused, since a count that begins anew hides runs.
#pragma once

#include "analysis/base/result.hpp"

#include <cstdint>
#include <string>

namespace dropledger::files {

struct RunTicket {
    std::int64_t number = 1;   // the first is 1
    std::string previous_seal; // hex; 64 zeros for the first, and behind a run that was not closed
};

[[nodiscard]] Result<RunTicket> take_run_number(const std::string& key_file);

// The log of the key's latest run was closed: its last seal is what the next one names. Nothing is
// done for a log of an earlier number.
[[nodiscard]] Status note_last_seal(const std::string& key_file, const std::string& log);

} // namespace dropledger::files
