// What one gate's drops say of the evidence itself: was it the order that was carried out, was the
// gate silent for long, do its multiples lie where one drop's seeds can lie, and are its pulses its
// own?
//
// Units: µm, µs. Assumes: drops come in travel order. Undefined when: a gate only counts: nothing is
// said of where multiples lie, nor of when seeds may come; line mode has no drops, only landings.
#pragma once

#include "analysis/ledger/entry.hpp"
#include "analysis/ledger/setup.hpp"

#include <cstdint>
#include <optional>
#include <vector>

namespace dropledger::audit {

// From one commanded drop to the next of the same start.
struct CommandedSteps {
    std::int64_t count = 0;
    std::int64_t other_spacing = 0; // over 2 % from the spacing that the log states
    std::int64_t other_speed = 0;   // over 25 % from the speed that it states
    std::int64_t way_um = 0;
    std::int64_t duration_us = 0;
};

// Of a line's landings, in travel order.
struct LineEvidence {
    std::int64_t landings = 0;
    std::int64_t close = 0;   // within a millisecond of the one before
    std::int64_t took_us = 0; // from the first to the last of each segment of the log
    std::int64_t way_um = 0;
};

struct DropEvidence {
    std::int64_t drops = 0;
    CommandedSteps steps;
    std::int64_t other_count = 0; // drops meant to hold another number of seeds than the log states
    std::int64_t misses = 0;
    std::int64_t multiples = 0;
    std::int64_t far_multiples = 0;      // over a quarter of the spacing from first to last seed
    std::int64_t close_multiples = 0;    // under a millisecond from first to last pulse
    std::int64_t longest_silence = 0;    // drops
    std::int64_t at_opening = 0;         // drops whose first seed came within 1 ms after an opening
    std::int64_t before_opening = 0;     // drops whose first seed came before their own opening
    std::int64_t behind_the_next = 0;    // … behind the next one, later than any seed falls
    std::int64_t asked = 0;              // seeds
    std::vector<std::int64_t> landed_us; // the first few thousand seeds
    LineEvidence line;
};

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
