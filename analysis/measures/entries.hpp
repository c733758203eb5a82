// The ledger's table: every commanded drop in exactly one column, every seed in one entry or among
// the strays.
//
// Undefined when: nothing; all counts may be 0. Throws BrokenInvariant (identities) where the table
// does not balance: then the program is wrong, not the log.
#pragma once

#include "analysis/ledger/entry.hpp"
#include "analysis/ledger/setup.hpp"
#include "analysis/measures/dependent_series.hpp"
#include "analysis/measures/kind_sequence.hpp"

#include <cstdint>
#include <optional>
#include <vector>

namespace dropledger::measures {

// Single seeds: miss, single, multiple. Portions: empty, short, exact, over.
enum class EntryKind : std::uint8_t { miss, single, multiple, empty, shorted, exact, over };

[[nodiscard]] EntryKind kind_of(const ledger::Entry& entry, ledger::Mode mode);

constexpr std::size_t greatest_count_shown = 255; // a count above it stands there

struct LedgerTable {
    std::int64_t drops = 0;
    std::int64_t seeds = 0; // in entries and strays
    std::int64_t entered = 0;
    std::int64_t strays = 0;
    std::int64_t single = 0;
    std::int64_t multiple = 0;
    std::int64_t miss = 0;
    std::int64_t empty = 0;
    std::int64_t shorted = 0;
    std::int64_t exact = 0;
    std::int64_t over = 0;

    // drops = single + multiple + miss (+ empty + short + exact + over); seeds = entered + strays
    [[nodiscard]] bool balanced() const;
};

struct PortionResult {
    std::optional<statistics::Estimate> mean_count;
    std::optional<statistics::Estimate> exact_share;
    double exact_inflation = 1.0; // what dependence of the portions costs (kind_sequence.hpp)
    std::optional<statistics::Estimate> spread_mm; // last − first seed of a portion, mean
    std::vector<std::int64_t> count_distribution;  // drops with 0, 1, 2, … seeds
    // Portions of two seeds and more by length, in classes of length_class_um; the last holds what
    // is longer.
    std::vector<std::int64_t> length_distribution;

    static constexpr std::int64_t length_class_um = 5'000;
    static constexpr std::size_t length_classes = 60;
};

// Shares per commanded drop, each with the events behind it. Undefined when: no drop.
struct SingleShares {
    std::optional<statistics::Estimate> miss{};
    std::optional<statistics::Estimate> single{};
    std::optional<statistics::Estimate> multiple{};
};

struct PortionShares {
    std::optional<statistics::Estimate> empty{};
    std::optional<statistics::Estimate> shorted{};
    std::optional<statistics::Estimate> exact{};
    std::optional<statistics::Estimate> over{};
};

class EntryTally {
public:
    explicit EntryTally(ledger::Mode mode) : mode_(mode) {}

    EntryKind add(const ledger::Entry& entry);
    void add_seeds(std::uint32_t seeds) { table_.seeds += seeds; } // each landing, once
    void add_stray(std::uint32_t seeds) { table_.strays += seeds; }

    [[nodiscard]] const LedgerTable& table() const { return table_; }
    [[nodiscard]] Independence misses_independence() const { return misses_.independence(); }
    [[nodiscard]] Independence multiples_independence() const { return multiples_.independence(); }
    [[nodiscard]] SingleShares single_shares(Confidence confidence) const;
    [[nodiscard]] PortionShares portion_shares(Confidence confidence) const;
    // The sequences behind the shares of misses (empty portions) and multiples (over their count).
    [[nodiscard]] const KindSequence& misses() const { return misses_; }
    [[nodiscard]] const KindSequence& multiples() const { return multiples_; }
    [[nodiscard]] std::optional<PortionResult> portion(Confidence confidence) const;
    void check_identities(int channel) const;

private:
    void add_length(std::int64_t length_um);
    [[nodiscard]] std::optional<statistics::Estimate> mean_count(Confidence confidence) const;

    ledger::Mode mode_;
    LedgerTable table_;
    KindSequence misses_;    // miss or empty
    KindSequence multiples_; // multiple or over
    KindSequence exact_;
    KindSequence shorted_;
    DependentSeries filled_counts_; // of portions that are not empty
    DependentSeries spreads_um_;
    std::vector<std::int64_t> distribution_;
    std::vector<std::int64_t> lengths_;
};

} // namespace dropledger::measures
