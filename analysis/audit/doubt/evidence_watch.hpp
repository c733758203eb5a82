// What one gate's drops say of the evidence itself: was it the order that was carried out, was the
// gate silent for long, do its multiples lie where one drop's seeds can lie, and are its pulses its
// own?
//
// Units: µm, µs. Assumes: drops come in travel order. Undefined when: a gate only counts: nothing is
// said of where multiples lie, nor of when seeds may come; line mode has no drops, only landings.
#pragma once

#include "analysis/audit/model/drop_evidence.hpp"
#include "analysis/ledger/entry.hpp"
#include "analysis/ledger/setup.hpp"

#include <cstdint>
#include <optional>

namespace dropledger::audit {

class EvidenceWatch {
public:
    static constexpr std::size_t landings_kept = 4096;

    explicit EvidenceWatch(const ledger::RunSetup& setup);

    void add(const ledger::Entry& entry);
    void add_landing(std::int64_t time_us) {
        if (found_.landed_us.size() < landings_kept)
            found_.landed_us.push_back(time_us);
    }
    void add_in_line(const ledger::Landing& landing);
    void segment_ended(); // what comes next has no neighbours among what was

    [[nodiscard]] const DropEvidence& found() const { return found_; }

private:
    void add_multiple(const ledger::Entry& entry);
    void add_step(const ledger::Commanded& drop);
    [[nodiscard]] bool came_at_opening(const ledger::Entry& entry) const;
    void add_delay(const ledger::Entry& entry);

    std::int64_t spacing_um_;
    std::int64_t speed_um_s_;            // 0: not stated
    std::optional<std::uint32_t> count_; // seeds a drop; nothing where the log does not say
    DropEvidence found_;
    std::int64_t silence_ = 0;
    std::optional<ledger::Commanded> last_;
    std::optional<std::int64_t> last_seed_us_; // the first of the last drop
    std::optional<ledger::Landing> last_in_line_;
};

// Seeds of the first few thousand that came one and the same time after a seed of the other gate
// (within two microseconds of the lag that most have; 5 ms at most either way).
struct Coincidences {
    std::int64_t seeds = 0;
    std::int64_t lag_us = 0; // of b behind a
};
[[nodiscard]] Coincidences coincidences(const DropEvidence& a, const DropEvidence& b);

} // namespace dropledger::audit
