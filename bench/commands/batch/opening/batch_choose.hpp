// The bench's part of a choice: bound by its hash when a batch is opened for a buyer, kept beside
// the batch file until the buyer has spoken.
#pragma once

namespace dropledger::cli {

inline constexpr const char* part_ending = ".part"; // behind the batch file's name

} // namespace dropledger::cli
