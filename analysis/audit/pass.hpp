// A log read into ledgers and tallies, one of each for every gate.
#pragma once

#include "analysis/audit/contradictions.hpp"
#include "analysis/audit/options.hpp"
#include "analysis/causes/cause_watch.hpp"
#include "analysis/droplog/reader.hpp"
#include "analysis/ledger/run_ledger.hpp"
#include "analysis/ledger/sink_threads.hpp"
#include "analysis/measures/channel_tally.hpp"
#include "analysis/verdict/stopping_rule.hpp"

#include <map>
#include <memory>
#include <utility>

namespace dropledger::audit {

using GateKey = std::pair<int, int>; // channel, gate

// All that takes up one gate's ledger.
class GateSink : public ledger::EntrySink {
public:
    GateSink(const causes::WatchSettings& watch, bool compares)
        : watch_(watch), compares_(compares) {}

    void entry(const ledger::Entry& entry) override {
        watch_.add(entry);
        if (compares_)
            seen_.push_back(entry.seeds > 0);
    }
    void assigned(const ledger::Landing& landing, std::int64_t) override {
        watch_.add_pulse(landing.depth_milli);
    }
    void stray(const ledger::Landing&) override {}
    void landed(const ledger::Landing&) override {}
    void segment_ended() override {}

    // Null where the gate may not judge.
    [[nodiscard]] virtual const measures::ChannelTally* tally() const { return nullptr; }
    [[nodiscard]] const causes::CauseWatch& watch() const { return watch_; }
    [[nodiscard]] const SeenDrops& seen() const { return seen_; }

private:
    causes::CauseWatch watch_;
    bool compares_; // the channel has another gate
    SeenDrops seen_;
};

class JudgingSink final : public GateSink {
public:
    JudgingSink(const measures::TallySettings& tally, const causes::WatchSettings& watch,
                bool compares)
        : GateSink(watch, compares), tally_(tally) {}

    void entry(const ledger::Entry& entry) override {
        tally_.entry(entry);
        GateSink::entry(entry);
    }
    void assigned(const ledger::Landing& landing, std::int64_t error_um) override {
        tally_.assigned(landing, error_um);
        GateSink::assigned(landing, error_um);
    }
    void stray(const ledger::Landing& landing) override { tally_.stray(landing); }
    void landed(const ledger::Landing& landing) override { tally_.landed(landing); }
    void segment_ended() override { tally_.segment_ended(); }

    [[nodiscard]] const measures::ChannelTally* tally() const override { return &tally_; }

private:
    measures::ChannelTally tally_;
};

using Tallies = std::map<GateKey, std::unique_ptr<GateSink>>;

struct Pass {
    droplog::Reading reading;
    ProfileChoice choice;
    verdict::StatedRule stated;
    Calibrated calibrated;
    Tallies tallies;
    std::unique_ptr<ledger::SinkThreads> threads; // in which they work
    std::unique_ptr<ledger::RunLedger> ledger;
};

// Reads the log once more where the direction of travel or the whole run's registration would have
// entered a landing elsewhere.
[[nodiscard]] Result<Pass> read_as_needed(const OpenBytes& open, const AuditOptions& options);

} // namespace dropledger::audit
