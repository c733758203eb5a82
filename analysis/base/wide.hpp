// 128-bit integers, for sums of squares and products that may not round.
#pragma once

namespace dropledger {

__extension__ using Wide = __int128;

} // namespace dropledger
