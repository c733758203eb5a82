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

#include <algorithm>
#include <cstdint>
#include <limits>
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
        pulses_us_ = {std::min(pulses_us_.first_us, time_us),
                      std::max(pulses_us_.last_us, time_us)};
    }
    void add_in_line(const ledger::Landing& landing);
    void segment_ended(); // what comes next has no neighbours among what was

    [[nodiscard]] const DropEvidence& found() const { return found_; }

private:
    void add_multiple(const ledger::Entry& entry);
    void close_pulses(bool in_excess);
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
    static constexpr Excess none{std::numeric_limits<std::int64_t>::max(),
                                 std::numeric_limits<std::int64_t>::min()};
    Excess pulses_us_ = none; // of the drop that is open
};

// Seeds of the first few thousand that came one and the same time after a seed of the other gate
// (within two microseconds of the lag that most have; 5 ms at most either way).
struct Coincidences {
    std::int64_t seeds = 0;
    std::int64_t lag_us = 0; // of b behind a
};
[[nodiscard]] Coincidences coincidences(const DropEvidence& a, const DropEvidence& b);

// Of the drops of `one` in excess, those with a pulse within 0.2 ms of a seed of `other`: one beam or
// cable that hears the other's. What chance makes of it is known by the drops that are in no excess.
struct Overheard {
    std::int64_t drops = 0; // in excess
    std::int64_t heard = 0;
    double by_chance = 0.0; // of them
};
[[nodiscard]] Overheard overheard(const DropEvidence& one, const DropEvidence& other);

} // namespace dropledger::audit
