// The host's side of the wire protocol as a state machine: lines and time go in, actions come out.
// No wire, no file and no clock in here.
//
// Assumes: the caller carries out the actions in order, and says `alive` and `ack` lines are not
// logged. Units: times are µs of the steady clock.
#pragma once

#include "bench/recorder/arrivals.hpp"
#include "bench/recorder/controller_state.hpp"
#include "bench/recorder/plan.hpp"

#include "analysis/base/result.hpp"

#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace dropledger::recorder {

struct Recovered;

enum class Phase : std::uint8_t {
    greeting, // hello sent; and after a restart, until all that was missed is here
    checking, // until the first beat says that the controller has lost nothing so far
    arming,
    starting,
    running,
    halting,
    settling, // halted; what still falls, or is still on the wire, is taken
    over,
};

enum class ActionKind : std::uint8_t {
    keep,          // log this controller line, verbatim
    keep_damaged,  // log these bytes as @damaged
    mark_time,     // log @at for `seq`
    mark_resumed,  // log @resumed
    send,          // to the controller, and log @sent
    send_unlogged, // to the controller
    say,           // to the operator
};

struct Action {
    ActionKind kind = ActionKind::say;
    std::string text;
    droplog::Record record{}; // keep, mark_time: the line's numbers
};

struct Counts {
    std::uint64_t taken = 0;
    std::uint64_t damaged = 0;  // arrived and could not be understood
    std::uint64_t repeated = 0; // arrived again
    std::uint64_t resends = 0;  // asked for
};

class Protocol {
public:
    Protocol(ArmOrder order, const Timings& timings);

    // Goes on where a log ends, before link_up.
    void restore(const Recovered& found);

    void link_up(Microseconds now); // the first time, and again after the link was lost
    void line(std::string_view line, Microseconds now);
    void junk(std::string_view bytes, Microseconds now);
    void time(Microseconds now);
    // Stops the motors and ends the run; `reason` goes into @close.
    void halt(std::string reason, Microseconds now);

    [[nodiscard]] std::vector<Action> take_actions();
    [[nodiscard]] Phase phase() const { return phase_; }
    [[nodiscard]] Microseconds last_heard() const { return heard_at_; }
    [[nodiscard]] std::optional<std::uint32_t> last_taken() const { return arrivals_.last_taken(); }
    [[nodiscard]] const Counts& counts() const { return counts_; }
    // Once over: why, for @close; and the trouble, where the run did not end as it should.
    [[nodiscard]] const std::string& end_reason() const { return end_reason_; }
    [[nodiscard]] const std::optional<Error>& trouble() const { return trouble_; }
    // The run may go on later in the same log: do not close it.
    [[nodiscard]] bool resumable() const { return resumable_; }
    [[nodiscard]] const std::string& boot() const { return arrivals_.boot(); }
    [[nodiscard]] std::uint32_t conceded() const { return arrivals_.conceded(); }

private:
    void enter(Phase phase, Microseconds now);
    void act(ActionKind kind, std::string text);
    void send(std::string_view body, Microseconds now);
    void end(std::string reason, std::optional<Error> trouble);
    void give_up(std::string reason, Error trouble); // for now: the log stays open
    void ask_hello(Microseconds now);

    void judge(std::string_view line, const droplog::Record& record, Microseconds now);
    void take(std::string_view line, const droplog::Record& record, Microseconds now);
    void take_hello(std::string_view line, const droplog::Record& record, Microseconds now);
    void take_state(std::string_view line, const droplog::Record& record, Microseconds now);
    void take_refusal(std::string_view line);
    void rebooted(Microseconds now);
    void follow_state(Microseconds now);
    void after_greeting(Microseconds now);
    void check_lost(const droplog::Record& beat, Microseconds now);
    [[nodiscard]] bool waits_for_start() const;

    void keep_alive(Microseconds now);
    void watch_gaps(Microseconds now);
    void retry(Microseconds now);
    void watch_limits(Microseconds now);
    void watch_settling(Microseconds now);
    [[nodiscard]] std::string order_of_phase() const;

    ArmOrder order_;
    Timings timings_;
    Arrivals arrivals_;
    Phase phase_ = Phase::greeting;
    ControllerState state_ = ControllerState::idle;
    bool continues_ = false; // a log that went before, or a link that was lost
    bool linked_before_ = false;
    bool reset_ = false; // the controller started anew in mid-run
    Microseconds entered_at_{0};
    Microseconds sent_at_{0};
    Microseconds alive_at_{0};
    Microseconds heard_at_{0};
    std::optional<Microseconds> hello_at_;
    std::optional<Microseconds> marked_at_;
    bool junk_since_line_ = false;
    bool query_boot_ = false;
    int refusals_ = 0;
    Counts counts_;
    std::vector<Action> actions_;
    std::string end_reason_;
    std::optional<Error> trouble_;
    bool resumable_ = false;
};

} // namespace dropledger::recorder
