// The ledger's vocabulary: a commanded drop, a landing, an entry, and who receives them.
//
// Units: µm of travel, counted in the direction of travel; µs since the boot's first line in the
// log.
#pragma once

#include <cstdint>

namespace dropledger::ledger {

struct Commanded {
    std::uint32_t index = 0;
    std::uint32_t target = 1; // seeds
    std::int64_t position_um = 0;
    std::int64_t time_us = 0; // the valve opened
    std::uint64_t line = 0;   // of the log
    std::uint32_t start = 0;  // 0, 1, …: INDEX begins anew with each, and with each boot
};

// Seeds that came down together: one pulse.
struct Landing {
    std::int64_t position_um = 0; // 0 where the gate only counts
    std::uint32_t seeds = 1;
    std::uint32_t depth_milli = 0; // the pulse's
    std::int64_t time_us = 0;
    std::uint64_t line = 0;
};

// One commanded drop and all that fell for it.
struct Entry {
    Commanded drop;
    std::uint32_t seeds = 0;
    std::int64_t sum_um = 0;   // Σ over seeds of landing − commanded position
    std::int64_t first_um = 0; // least and greatest landing − commanded position
    std::int64_t last_um = 0;
    std::int64_t first_time_us = 0;

    // Landing (of several seeds: their centroid) − commanded position, to the nearest µm; seeds > 0
    // only.
    [[nodiscard]] std::int64_t error_um() const {
        if (seeds == 1)
            return sum_um;
        const std::int64_t half = seeds / 2;
        return (sum_um + (sum_um < 0 ? -half : half)) / static_cast<std::int64_t>(seeds);
    }
};

// Receives one channel's ledger as it is made up: drops in travel order, each once; landings in
// travel order, each once, and each again either as a part of an entry or as a stray.
class EntrySink {
public:
    virtual ~EntrySink() = default;
    virtual void entry(const Entry& entry) = 0;
    // `error_um`: landing − commanded position of the drop it belongs to.
    virtual void assigned(const Landing& landing, std::int64_t error_um) = 0;
    virtual void stray(const Landing& landing) = 0;
    // Every placed landing, strays included; none from a gate that only counts.
    virtual void landed(const Landing& landing) = 0;
    // The next drops and landings have no neighbours among the ones so far: a boot or another
    // start in mid-run, or a travel position that was set anew.
    virtual void segment_ended() = 0;
};

} // namespace dropledger::ledger
