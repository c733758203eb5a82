// One run being recorded: carries out what the protocol wants, on wire, file and clock.
//
// Assumes: one thread, but for the lifeline's. However run() is left, the controller was told to
// halt where anything may still move.
#pragma once

#include "bench/recorder/flood.hpp"
#include "bench/recorder/lifeline.hpp"
#include "bench/recorder/log_file.hpp"
#include "bench/recorder/protocol/recovery.hpp"
#include "bench/recorder/recorder.hpp"
#include "bench/recorder/wire.hpp"

#include "analysis/droplog/writer.hpp"
#include "bench/link/framer.hpp"

namespace dropledger::recorder {

class Recording {
public:
    struct Parts {
        LogFile file;
        droplog::SealChain chain;
        Protocol protocol;
        LiveTally tally;
        std::unique_ptr<link::Transport> link;
    };

    Recording(const RunPlan& plan, Parts parts, const Bench& bench, const Hooks& hooks);

    [[nodiscard]] Status begin_log(); // a new one
    [[nodiscard]] Status begin_again(const Recovered& found);
    [[nodiscard]] Result<RunSummary> run();
    // Instead of run(), where the log takes nothing.
    [[nodiscard]] Error abandon(Error error) { return broken_off(std::move(error)); }

private:
    [[nodiscard]] Result<RunSummary> record_and_finish();
    [[nodiscard]] Status run_to_its_end();
    [[nodiscard]] bool goes_on();
    [[nodiscard]] Result<RunSummary> leave_open();
    [[nodiscard]] Status step();
    void mind_time_lost();
    void heed_lifeline();
    void heed_interrupts();
    void read_link();
    void take_frames();
    void carry_out();
    void carry_out(const Action& action);
    void keep(const Action& action);
    void keep_damaged(const Action& action);
    void send_logged(const Action& action);
    void send_synced(const Action& action);
    void send(const std::string& line);
    [[nodiscard]] Status commit_when_due();
    [[nodiscard]] Status commit();
    [[nodiscard]] Status store();
    void tell_slow_disk(Microseconds took);
    void acknowledge();
    void seal_when_due();
    [[nodiscard]] Status watch_link();
    [[nodiscard]] Status reconnect();
    void drop_link();
    [[nodiscard]] Result<RunSummary> finish();
    [[nodiscard]] Error broken_off(Error error);
    void make_halt();
    [[nodiscard]] bool nothing_recorded() const;
    [[nodiscard]] RunSummary summary();

    const RunPlan& plan_;
    LogFile file_;
    droplog::Writer writer_;
    Protocol protocol_;
    LiveTally tally_;
    const Bench& bench_;
    const Hooks& hooks_;
    Wire wire_;
    Lifeline lifeline_;
    link::Framer framer_;
    Flood flood_;
    bool new_log_ = false;
    bool disk_failed_ = false;
    std::optional<Error> failure_; // while an action was carried out
    bool leave_ = false;
    bool stopped_by_rule_ = false;
    bool stays_open_ = false; // drops are left, and a later process may make them
    int interrupts_ = 0;
    std::string boot_;
    std::optional<Microseconds> dirty_since_;
    Microseconds sealed_at_{0};
    Microseconds turned_at_{0};
    Microseconds listening_since_{0};
    Microseconds slowest_sync_{0};
    std::optional<Microseconds> told_slow_at_;
    std::optional<std::uint32_t> acknowledged_;
    std::unique_ptr<Ticker> alive_; // last: its thread uses the others
};

} // namespace dropledger::recorder
