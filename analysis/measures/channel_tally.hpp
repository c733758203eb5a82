// All measures of one channel, taken up in one pass over its ledger.
#pragma once

#include "analysis/ledger/entry.hpp"
#include "analysis/ledger/setup.hpp"
#include "analysis/measures/entries.hpp"
#include "analysis/measures/line.hpp"
#include "analysis/measures/placement.hpp"
#include "analysis/measures/sequential_path.hpp"
#include "analysis/measures/spacing.hpp"
#include "analysis/measures/trace.hpp"

#include <cstdint>
#include <optional>

namespace dropledger::measures {

struct TallySettings {
    ledger::Mode mode = ledger::Mode::single;
    std::optional<std::int64_t> spacing_um; // none: no spacing indices
    std::int64_t segment_um = 100'000;
    // Where the run could stop itself: the tests to replay.
    std::optional<statistics::StopPlan> miss_plan{};
    std::optional<statistics::StopPlan> multiples_plan{};
    std::int64_t most_drops = 1;
};

class ChannelTally final : public ledger::EntrySink {
public:
    explicit ChannelTally(const TallySettings& settings);

    void entry(const ledger::Entry& entry) override;
    void assigned(const ledger::Landing& landing, std::int64_t error_um) override;
    void stray(const ledger::Landing& landing) override;
    void landed(const ledger::Landing& landing) override;
    void segment_ended() override;

    [[nodiscard]] const EntryTally& entries() const { return entries_; }
    [[nodiscard]] const PlacementTally& placement() const { return placement_; }
    [[nodiscard]] const std::optional<SpacingTally>& spacing() const { return spacing_; }
    [[nodiscard]] const std::optional<LineTally>& line() const { return line_; }
    [[nodiscard]] const Trace& trace() const { return trace_; }
    [[nodiscard]] const std::optional<SequentialPath>& miss_path() const { return miss_path_; }
    [[nodiscard]] const std::optional<SequentialPath>& multiples_path() const {
        return multiples_path_;
    }

private:
    TallySettings settings_;
    EntryTally entries_;
    PlacementTally placement_;
    std::optional<SpacingTally> spacing_;
    std::optional<LineTally> line_;
    Trace trace_;
    std::optional<SequentialPath> miss_path_;
    std::optional<SequentialPath> multiples_path_;
    std::optional<std::int64_t> last_landing_um_;
};

} // namespace dropledger::measures
