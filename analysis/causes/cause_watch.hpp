// Watches one channel's entries as the ledger makes them up, in bounded memory, and says what may
// be wrong.
//
// Kinds and their tests (each at `level`, so that a healthy run is blamed in at most one of twenty):
//   bad_cell          misses, or multiples, gather at one residue of the drop index (PeriodScan,
//                     exact)
//   bridging          misses crowd in a window of 20 drops (scan statistic), neither at the start
//                     nor to the end
//   empty_container   hardly a seed to the end of the run, over at least 10 misses: single pulses in
//                     between (dust in the beam) do not hide where it began
//   start_loss        more misses among the first 10 drops than among the others (exact)
//   valve_drift       landings move along the run: slope of block means that may hang together, and
//                     by at least 3 mm
//   speed_dependence  the same, where the travel's speed changed along the run by a tenth and more
//   valve_lag         landings are off their places by more than 5 mm on average although a lead is
//                     set (a portion, whose seeds follow each other: by more than the profile lets
//                     pass)
//   double_feeding    more multiples than the profile lets pass (5 % where it sets no limit), those
//                     of a bad cell taken out (exact)
//   gate_going_blind  one gate misses more behind the run's first quarter, and more than the
//                     channel's other gate does; or its pulses grow shallower by a tenth or more,
//                     and more so than the other's; where no other gate keeps its depth: the pulses
//                     do while misses rise
// Assumes: one entry per commanded drop, in drop order; misses of a healthy unit come
// independently.
// Units: p-values and their evidence; drops by index.
// Undefined when: fewer than 50 drops: no causes.
#pragma once

#include "analysis/causes/along_the_run.hpp"
#include "analysis/causes/block_series.hpp"
#include "analysis/causes/cause.hpp"
#include "analysis/causes/period_scan.hpp"
#include "analysis/ledger/entry.hpp"
#include "analysis/ledger/setup.hpp"
#include "analysis/measures/dependent_series.hpp"

#include <array>
#include <cstdint>
#include <optional>
#include <vector>

namespace dropledger::causes {

struct WatchSettings {
    ledger::Mode mode = ledger::Mode::single;
    std::optional<std::int64_t> cells; // of the metering disc, where the log says
    bool has_places = true;            // false for a gate that only counts
    bool lead_is_set = false; // the log states the valve's lead: landings should be in their places
    int gate = 1;
    std::optional<double> most_multiples{}; // share that the profile lets pass
    double most_lag_mm = 5.0;
};

struct Misses {
    double count = 0.0;
    std::int64_t drops = 0;
};

class CauseWatch {
public:
    static constexpr double level = 0.005;
    static constexpr std::int64_t window = 20;
    static constexpr std::int64_t start_drops = 10;

    explicit CauseWatch(const WatchSettings& settings);

    void add(const ledger::Entry& entry);
    // Of each pulse that was entered.
    void add_pulse(std::uint32_t depth_milli) {
        depths_milli_.add(static_cast<double>(depth_milli));
    }

    // `other`: the same channel by its other gate, where it has one.
    [[nodiscard]] std::vector<Cause> causes(const CauseWatch* other) const;
    [[nodiscard]] AlongTheRun along_the_run(const CauseWatch* other) const;

private:
    struct Crowd {
        std::int64_t misses = 0;
        std::int64_t first_drop = 0; // of the window
    };

    void add_error(std::int64_t error_um);
    void add_speed(const ledger::Commanded& drop);
    // The latest stretch in which hardly a seed fell, and what was known before it.
    struct Dearth {
        double score = 0.0;    // a sum that misses raise and seeds lower; 0: no such stretch
        std::int64_t from = 0; // drop
        std::int64_t drops = 0;
        std::int64_t misses = 0;
        Crowd crowd_before{};
    };

    void add_miss(std::int64_t index, bool miss);
    void follow_dearth(std::int64_t index, bool miss);
    // Of the empty container at the run's end; nothing where the run does not end so.
    [[nodiscard]] Dearth empty_end() const;
    [[nodiscard]] std::int64_t settled_misses() const; // without an empty end and the start
    void find_bad_cells(std::vector<Cause>& found) const;
    void find_bridging(const AlongTheRun& along, std::vector<Cause>& found) const;
    void find_empty(std::vector<Cause>& found) const;
    void find_start_loss(std::vector<Cause>& found) const;
    void find_drift(std::vector<Cause>& found) const;
    void find_lag(std::vector<Cause>& found) const;
    void find_double_feeding(std::vector<Cause>& found) const;
    void find_blind_gate(const CauseWatch& other, std::vector<Cause>& found) const;
    void find_dim_gate(const AlongTheRun& along, std::vector<Cause>& found) const;
    [[nodiscard]] std::optional<double> dimming(const CauseWatch* other) const;
    [[nodiscard]] Misses late_misses(std::int64_t empty_drops) const;
    [[nodiscard]] std::optional<Cause> more_misses_than(const CauseWatch& other) const;
    [[nodiscard]] std::optional<Cause> shallower_than(const CauseWatch& other) const;
    WatchSettings settings_;
    PeriodScan misses_by_cell_;
    PeriodScan multiples_by_cell_;
    BlockSeries errors_mm_;
    measures::DependentSeries errors_um_;
    ShareAlong misses_along_;
    ShareAlong multiples_along_;
    BlockSeries depths_milli_;
    BlockSeries speeds_um_s_;
    std::optional<ledger::Commanded> last_drop_;
    std::int64_t multiples_ = 0;
    std::array<std::uint8_t, static_cast<std::size_t>(window)> recent_{};
    Crowd crowd_;   // the fullest window that a seed ended
    Crowd pending_; // the fullest one of the run of misses now going on
    std::int64_t drops_ = 0;
    std::int64_t misses_ = 0;
    std::int64_t start_misses_ = 0;
    std::int64_t run_ = 0;       // misses in a row up to now
    std::int64_t in_window_ = 0; // misses
    Dearth dearth_;
    std::int64_t last_index_ = 0;
    std::uint32_t start_ = 0; // of the latest drop
};

} // namespace dropledger::causes
