// How often the operator, or the system, has asked this process to end.
#pragma once

namespace dropledger::cli {

// From now on signals that ask it to end are counted instead.
void heed_signals();

[[nodiscard]] int interrupts_so_far();

} // namespace dropledger::cli
