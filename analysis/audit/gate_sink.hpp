// All that takes up one gate's ledger: causes, evidence, what another gate is compared by, and for a
// gate that may judge the measures.
#pragma once

#include "analysis/audit/doubt/contradictions.hpp"
#include "analysis/audit/doubt/evidence_watch.hpp"
#include "analysis/causes/cause_watch.hpp"
#include "analysis/ledger/entry.hpp"
#include "analysis/measures/channel_tally.hpp"

namespace dropledger::audit {

class GateSink : public ledger::EntrySink {
public:
    GateSink(const causes::WatchSettings& watch, const ledger::RunSetup& setup, bool compares)
        : watch_(watch), evidence_(setup), compares_(compares),
          is_line_(setup.mode == ledger::Mode::line) {}

    void entry(const ledger::Entry& entry) override {
        watch_.add(entry);
        evidence_.add(entry);
        if (!compares_)
            return;
        seen_.push_back(entry.seeds > 0);
        several_.push_back(entry.seeds > 1);
    }
    void assigned(const ledger::Landing& landing, std::int64_t) override {
        watch_.add_pulse(landing.depth_milli);
        evidence_.add_landing(landing.time_us);
    }
    void stray(const ledger::Landing&) override {}
    void landed(const ledger::Landing& landing) override {
        if (is_line_)
            evidence_.add_in_line(landing);
    }
    void segment_ended() override { evidence_.segment_ended(); }

    // Null where the gate may not judge.
    [[nodiscard]] virtual const measures::ChannelTally* tally() const { return nullptr; }
    [[nodiscard]] const causes::CauseWatch& watch() const { return watch_; }
    [[nodiscard]] const DropEvidence& evidence() const { return evidence_.found(); }
    [[nodiscard]] const SeenDrops& seen() const { return seen_; }
    [[nodiscard]] const SeenDrops& several() const { return several_; }

private:
    causes::CauseWatch watch_;
    EvidenceWatch evidence_;
    bool compares_; // the channel has another gate
    bool is_line_;
    SeenDrops seen_;
    SeenDrops several_;
};

class JudgingSink final : public GateSink {
public:
    JudgingSink(const measures::TallySettings& tally, const causes::WatchSettings& watch,
                const ledger::RunSetup& setup, bool compares)
        : GateSink(watch, setup, compares), tally_(tally) {}

    void entry(const ledger::Entry& entry) override {
        tally_.entry(entry);
        GateSink::entry(entry);
    }
    void assigned(const ledger::Landing& landing, std::int64_t error_um) override {
        tally_.assigned(landing, error_um);
        GateSink::assigned(landing, error_um);
    }
    void stray(const ledger::Landing& landing) override { tally_.stray(landing); }
    void landed(const ledger::Landing& landing) override {
        tally_.landed(landing);
        GateSink::landed(landing);
    }
    void segment_ended() override {
        tally_.segment_ended();
        GateSink::segment_ended();
    }

    [[nodiscard]] const measures::ChannelTally* tally() const override { return &tally_; }

private:
    measures::ChannelTally tally_;
};

} // namespace dropledger::audit
