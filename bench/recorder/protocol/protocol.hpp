// The host's side of the wire protocol as a state machine: lines and time go in, actions come out.
// No wire, no file and no clock in here.
//
// Assumes: the caller carries out the actions in order and stops at one that fails; `alive` is the
// lifeline's.
// Units: times are µs of the steady clock.
#pragma once

#include "bench/recorder/protocol/action.hpp"
#include "bench/recorder/protocol/lines/arrivals.hpp"
#include "bench/recorder/protocol/lines/controller_state.hpp"
#include "bench/recorder/protocol/lines/known_bench.hpp"
#include "bench/recorder/protocol/lines/survey.hpp"
#include "bench/recorder/protocol/lines/taken_lines.hpp"
#include "bench/recorder/protocol/plan/plan.hpp"
#include "bench/recorder/protocol/plan/start.hpp"

#include "analysis/base/result.hpp"

#include <optional>
#include <set>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

namespace dropledger::recorder {

struct Recovered;

enum class Phase : std::uint8_t {
    greeting, // hello sent; and after a restart, until all that was missed is here
    checking, // a new run: until it is known what the controller holds; else until it is known that
              // nothing is on its way any more
    arming,
    starting,
    running,
    halting,
    settling, // nothing moves; what still falls, or is still on the wire, is taken
    over,
};

// What a run may do beyond listening.
struct Leave {
    std::optional<StartConfirmed> start;
    bool discard_held = false;
};

class Protocol {
public:
    Protocol(ArmOrder order, const Timings& timings, Leave leave);

    // Goes on where a log ends, before link_up.
    void restore(const Recovered& found);

    void link_up(Microseconds now); // the first time, and again after the link was lost
    void line(std::string_view line, Microseconds now);
    void junk(std::string_view bytes, Microseconds now);
    void time(Microseconds now);
    // Once over: whether the controller halted with drops left, and still is as the log says, so
    // that another start may make them.
    [[nodiscard]] bool may_go_on() const;
    [[nodiscard]] bool has_leave() const { return leave_.start.has_value(); }
    void give_leave(StartConfirmed start) { leave_.start = std::move(start); }
    // Arms and starts for `rest` with the leave that is there.
    void go_on(const ArmOrder& rest, Microseconds now);
    // Stops the motors and ends the run; `reason` goes into @close.
    void halt(std::string reason, Microseconds now);

    [[nodiscard]] std::vector<Action> take_actions();
    [[nodiscard]] Phase phase() const { return phase_; }
    [[nodiscard]] Microseconds last_heard() const { return heard_at_; }
    // The last line that was kept, once acknowledging it gives up nothing else and `hello` has
    // named the boot on this link: an `ack` names none.
    [[nodiscard]] std::optional<std::uint32_t> acknowledgeable() const {
        return surveyed_ && arrivals_.boot_named() ? kept_ : std::nullopt;
    }
    // The latest SEQ of the boot that has come, in whatever order; none before a line of it has.
    [[nodiscard]] std::optional<std::uint32_t> newest_seq() const {
        return other_bench_ ? std::nullopt : arrivals_.newest();
    }
    // What may still come as an answer to a `go` that was sent more than once.
    [[nodiscard]] int goes_unanswered() const { return other_bench_ ? 0 : goes_unanswered_; }
    // It is not the log's bench that answers on this line.
    [[nodiscard]] bool is_other_bench() const { return other_bench_; }
    [[nodiscard]] const Counts& counts() const { return counts_; }
    // `arm` was sent, now or by whoever wrote the log so far.
    [[nodiscard]] bool ordered() const { return ordered_; }
    // Nobody knows that nothing moves, and it was not asked in vain already.
    [[nodiscard]] bool needs_halt() const;
    // Once over: why, for @close; and the trouble, where the run did not end as it should.
    [[nodiscard]] const std::string& end_reason() const { return end_reason_; }
    [[nodiscard]] const std::optional<Error>& trouble() const { return trouble_; }
    // The run may go on later in the same log: do not close it.
    [[nodiscard]] bool resumable() const { return resumable_; }
    [[nodiscard]] const std::string& boot() const { return arrivals_.boot(); }
    [[nodiscard]] std::uint32_t conceded() const { return conceded_before_ + arrivals_.conceded(); }

private:
    void enter(Phase phase, Microseconds now);
    void recall_go();
    void act(ActionKind kind, std::string text);
    void send(std::string_view body, Microseconds now);
    void send_order(Microseconds now);
    [[nodiscard]] std::string order_of_phase() const;
    void begin_start(Microseconds now);
    void too_late_to_start(Microseconds now);
    void end(std::string reason, std::optional<Error> trouble);
    void give_up(std::string reason, Error trouble); // for now: the log stays open
    void wind_up(std::string reason, Error trouble, Microseconds now); // halts first, then ends
    void ask_hello(Microseconds now);

    void judge(std::string_view line, const droplog::Record& record, Microseconds now);
    void sort_in(std::string_view line, const droplog::Record& record, Arrival arrival, bool begun,
                 Microseconds now);
    void judge_again(std::string_view line, const droplog::Record& record, Microseconds now);
    void boot_confirmed();
    void hear_boot(Microseconds now);
    void take(std::string_view line, const droplog::Record& record, Microseconds now);
    void act_on(std::string_view line, const droplog::Record& record, Microseconds now);
    void take_movement(const droplog::Record& record, Microseconds now);
    [[nodiscard]] bool beyond_order(const droplog::Record& record);
    void take_hello(std::string_view line, const droplog::Record& record, Microseconds now);
    void take_beat(const droplog::Record& beat, Microseconds now);
    void take_state(std::string_view line, const droplog::Record& record, Microseconds now);
    void take_started(Microseconds now);
    void take_refusal(std::string_view line, Microseconds now);
    void refused_halt(Microseconds now);
    void hear_gone(std::string_view line, const droplog::Record& record, Microseconds now);
    void rebooted(Microseconds now);
    void meet_other_bench(const std::string& difference);
    void moved_unasked(Microseconds now);
    void halt_unasked(Microseconds now);
    void follow_state(Microseconds now);
    void after_greeting(Microseconds now);
    void look_at_held(Microseconds now);
    [[nodiscard]] bool waits_for_start() const;
    [[nodiscard]] bool boot_in_doubt() const;
    void start_when_sure(Microseconds now);
    [[nodiscard]] bool surveys() const { return !surveyed_ && phase_ == Phase::checking; }

    void watch_gaps(Microseconds now);
    void watch_held(Microseconds now);
    void retry(Microseconds now);
    void watch_limits(Microseconds now);
    void watch_answers(Microseconds now);
    void halt_unheeded();
    void watch_checking(Microseconds now);
    void watch_movement(Microseconds now);
    void watch_settling(Microseconds now);

    ArmOrder order_;
    Timings timings_;
    Leave leave_;
    std::optional<GoOrder> go_; // of the start that is on its way
    Arrivals arrivals_;
    TakenLines taken_;
    KnownBench bench_;
    Survey survey_;
    Phase phase_ = Phase::greeting;
    ControllerState state_ = ControllerState::idle;
    bool continues_ = false; // a log that went before, or a link that was lost
    bool linked_before_ = false;
    bool ordered_ = false;
    bool surveyed_ = false;     // acknowledging gives up nothing
    bool ended_ = false;        // the log's run had ended before: it can only be closed
    bool going_on_ = false;     // with drops that a start before has left, and not started yet
    bool given_up_ = false;     // lines of this log were acknowledged for another run
    bool rebooted_ = false;     // another boot has come, whenever
    bool reset_ = false;        // the controller started anew in mid-run
    bool idle_ = false;         // it has said, by refusing to halt, that nothing moves
    bool unheeded_ = false;     // it has not confirmed a halt
    bool start_queued_ = false; // a first `go` is among the actions not taken yet
    bool start_open_ = false;   // it was sent, and no `started` has answered it
    bool unasked_ = false;      // motors moved though no `go` asked for it
    bool other_bench_ = false;
    std::optional<std::uint32_t> kept_;
    std::uint32_t conceded_before_ = 0; // lines that the log lacked when it was gone on with
    std::uint32_t linked_next_ = 0;     // SEQ wanted next when the link came up
    Microseconds entered_at_{0};
    Microseconds sent_at_{0};
    Microseconds heard_at_{0};
    Microseconds moved_at_{0};
    std::optional<std::int64_t> position_um_;
    std::optional<Microseconds> hello_at_;
    std::optional<Microseconds> marked_at_;
    std::optional<Microseconds> asked_held_at_;
    bool junk_since_line_ = false;
    bool query_boot_ = false;
    bool boot_doubted_ = false; // since `hello` has named it last
    int goes_unanswered_ = 0;
    int starts_ = 0;                         // in this log
    std::optional<std::int64_t> started_um_; // first position after `started`
    int refusals_ = 0;
    int gone_ = 0;
    std::uint32_t gone_seq_ = 0;
    std::vector<std::string> other_lines_; // of a SEQ that was taken; of another boot, perhaps
    std::set<std::size_t> conflicts_;      // hashes of those that were kept
    Counts counts_;
    std::vector<Action> actions_;
    std::string end_reason_;
    std::optional<Error> trouble_;
    bool resumable_ = false;
};

} // namespace dropledger::recorder
