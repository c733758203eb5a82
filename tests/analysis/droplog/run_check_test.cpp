// What a whole run is: each log here lacks one thing of it, or has one too many.
#include "tests/analysis/droplog/logs.hpp"

#include <gtest/gtest.h>

using namespace dropledger;
using namespace dropledger::droplog;

namespace {

// A run in the making, all of it numbered without a gap whatever is left out.
class Making {
public:
    Making& order(std::uint32_t drops, std::uint32_t mask = 1, const char* mode = "single") {
        const std::string arm = std::string{"arm,"} + mode + ",180000,1,250000," +
                                std::to_string(mask) + "," + std::to_string(drops);
        return host([arm](Writer& writer) { writer.sent(encode(arm)); });
    }
    Making& confirmed() {
        return host([](Writer& writer) { writer.confirmed(1'772'438'400'000'000); });
    }
    Making& hello(const std::string& boot = "A") {
        if (boot != boot_)
            seq_ = 0;
        boot_ = boot;
        return controller(hello_line(next(), {1, boot, 2, "fw"}));
    }
    Making& state(const char* name, const char* detail = "") {
        return controller(state_line(next(), name, detail));
    }
    Making& drops(std::uint32_t from, std::uint32_t to, int channel = 0) {
        for (std::uint32_t i = from; i < to; ++i)
            controller(drop_line(next(), {channel, i, 180'000 * std::int64_t{i}, 1}));
        return *this;
    }
    Making& pulse() { return controller(pulse_line(next(), {0, 1, 900, 400})); }

    [[nodiscard]] Integrity close(const char* reason) const {
        const auto reading = check(written([&](Writer& writer) {
            begin_run(writer);
            for (const Fill& step : steps_)
                step(writer);
            writer.close(reason, {});
        }));
        return reading->integrity;
    }

private:
    Stamp next() {
        tick_us_ += 1'000;
        return {seq_++, tick_us_};
    }
    Making& host(Fill step) {
        steps_.push_back(std::move(step));
        return *this;
    }
    Making& controller(const std::string& line) {
        return host([line](Writer& writer) { writer.controller(line); });
    }

    std::vector<Fill> steps_;
    std::string boot_;
    std::uint32_t seq_ = 0;
    std::uint32_t tick_us_ = 0;
};

std::vector<std::string> keys(const std::vector<FoundFlaw>& flaws) {
    std::vector<std::string> all;
    for (const FoundFlaw& one : flaws)
        all.emplace_back(row_of(one.flaw).key);
    return all;
}

using Keys = std::vector<std::string>;

Making started(std::uint32_t drops, std::uint32_t mask = 1) {
    Making run;
    run.order(drops, mask).hello().state("armed").state("started");
    return run;
}

FoundFlaw only(const Integrity& found) {
    EXPECT_EQ(found.flaws().size(), 1U);
    return found.flaws().at(0);
}

} // namespace

TEST(RunCheck, FindsAWholeRunComplete) {
    const Integrity found = started(30).drops(0, 30).state("halted", "count").close("count");
    EXPECT_EQ(keys(found.flaws()), Keys{});
    EXPECT_TRUE(found.complete());
    EXPECT_TRUE(found.contradictions().empty());
    EXPECT_EQ(found.starts, 1U);
    EXPECT_FALSE(found.missing().may_be_more);
}

TEST(RunCheck, NeedsTheGreetingAndTheStart) {
    Making no_hello;
    no_hello.order(3).state("started").drops(0, 3).state("halted", "count");
    const Integrity without_hello = no_hello.close("count");
    EXPECT_EQ(keys(without_hello.flaws()), Keys{"no_hello"});
    EXPECT_EQ(only(without_hello).line, 6U);
    EXPECT_FALSE(without_hello.complete());
    Making no_start;
    no_start.order(3).hello().drops(0, 3).state("halted", "count");
    const Integrity without_start = no_start.close("host");
    EXPECT_EQ(keys(without_start.flaws()), Keys{"no_started"});
    EXPECT_EQ(only(without_start).line, 7U);
    EXPECT_TRUE(without_start.missing().may_be_more);
    Making nothing;
    EXPECT_EQ(keys(nothing.close("host").flaws()), (Keys{"no_hello", "no_started"}));
}

TEST(RunCheck, MissesDropsThatWereTakenOutThoughSeqRunsOn) {
    const Integrity middle =
        started(30).drops(0, 12).drops(18, 30).state("halted", "count").close("count");
    EXPECT_EQ(keys(middle.flaws()), Keys{"index_gap"});
    EXPECT_EQ(only(middle).count, 6U);
    EXPECT_EQ(only(middle).line, 9U + 12U);
    EXPECT_EQ(middle.missing().at_least, 6U);
    EXPECT_FALSE(middle.complete());
    const Integrity start = started(300).drops(200, 300).state("halted", "count").close("count");
    EXPECT_EQ(only(start).count, 200U);
    const Integrity of_the_second_channel =
        started(3, 3).drops(0, 3).drops(1, 3, 1).state("halted", "count").close("count");
    EXPECT_EQ(only(of_the_second_channel).count, 1U);
}

TEST(RunCheck, SaysThatADropIsThereTwice) {
    const Integrity found =
        started(3).drops(0, 2).drops(1, 3).state("halted", "count").close("count");
    EXPECT_EQ(keys(found.contradictions()), Keys{"index_repeated"});
}

TEST(RunCheck, ComparesARunThatIsClosedAsCarriedOutWithItsOrder) {
    const auto with = [](std::uint32_t asked, std::uint32_t mask, const char* reason) {
        return started(asked, mask).drops(0, 20).state("halted", reason).close(reason);
    };
    EXPECT_TRUE(with(20, 1, "count").complete());
    EXPECT_EQ(keys(with(24, 1, "count").flaws()), Keys{"count_not_agreed"});
    EXPECT_EQ(only(with(24, 1, "count")).count, 4U);
    EXPECT_EQ(only(with(18, 1, "count")).count, 2U);
    EXPECT_EQ(only(with(20, 3, "count")).count, 20U); // channel 1 is not there at all
    EXPECT_EQ(only(with(20, 2, "count")).count, 40U); // the other channel is
    EXPECT_EQ(only(with(0, 1, "count")).count, 20U);  // an order without an end
    EXPECT_TRUE(with(24, 1, "host").complete());      // halted before: nothing is missing
    EXPECT_TRUE(with(0, 1, "host").complete());
}

TEST(RunCheck, NeedsTheOrderAndTheHaltOfARunThatIsClosedAsCarriedOut) {
    Making no_order;
    no_order.hello().state("started").drops(0, 3).state("halted", "count");
    EXPECT_EQ(keys(no_order.close("count").flaws()), Keys{"no_order"});
    EXPECT_EQ(keys(started(3).drops(0, 3).close("count").flaws()), Keys{"no_halted"});
}

TEST(RunCheck, LooksForNoDropsInALine) {
    Making line;
    line.order(50, 1, "line").hello().state("started").pulse().state("halted", "count");
    EXPECT_TRUE(line.close("count").complete());
}

TEST(RunCheck, ABootInMidRunLosesWhatWasNotHandedOver) {
    const Integrity found = started(6).drops(0, 4).hello("B").close("reset");
    EXPECT_EQ(keys(found.flaws()), Keys{"reset_in_run"});
    EXPECT_EQ(only(found).line, 9U + 4U);
    EXPECT_TRUE(found.missing().may_be_more);
    EXPECT_FALSE(found.complete());
    // after the halt everything is there
    EXPECT_TRUE(
        started(4).drops(0, 4).state("halted", "count").hello("B").close("count").complete());
    // and before the start nothing was to be lost
    Making early;
    early.hello("A").order(2).hello("B").state("started").drops(0, 2).state("halted", "count");
    EXPECT_TRUE(early.close("count").complete());
}

TEST(RunCheck, SaysThatDropsOfANewBootWereNeverStarted) {
    const Integrity found =
        started(6).drops(0, 6).state("halted", "count").hello("B").drops(0, 2).close("host");
    EXPECT_EQ(keys(found.flaws()), Keys{"no_started"});
}

// Index begins at 0 with every start, in the same boot or in another.
TEST(RunCheck, TakesASecondStartOnlyWhereItWasConfirmed) {
    const auto twice = [](bool confirmed, const char* boot) {
        Making run = started(9).drops(0, 4).state("halted", "host_silent");
        run.hello(boot).order(5);
        if (confirmed)
            run.confirmed();
        run.state("armed").state("started").drops(0, 5).state("halted", "count");
        return run.close("count");
    };
    for (const char* boot : {"A", "B"}) {
        EXPECT_EQ(keys(twice(false, boot).flaws()), Keys{"several_starts"});
        EXPECT_FALSE(twice(false, boot).complete());
        EXPECT_TRUE(twice(true, boot).complete());
        EXPECT_EQ(twice(true, boot).starts, 2U);
    }
}

TEST(RunCheck, AConfirmationIsGoodForOneStart) {
    Making run;
    run.order(1).hello().confirmed().state("started").drops(0, 1).state("halted", "count");
    run.state("started").drops(0, 1).state("halted", "count");
    EXPECT_EQ(keys(run.close("count").flaws()), (Keys{"several_starts", "count_not_agreed"}));
}

// A run of three drops whose host went away after `made`; gone on with for `rest`.
Making gone_on_with(std::uint32_t made, std::uint32_t rest) {
    Making run;
    run.order(3).hello().confirmed().state("started").drops(0, made).state("halted", "host_silent");
    run.order(rest).confirmed().state("started").drops(0, rest).state("halted", "count");
    return run;
}

TEST(RunCheck, AContinuationMakesWhatIsLeft) {
    EXPECT_EQ(keys(gone_on_with(1, 2).close("count").flaws()), Keys{});
}

TEST(RunCheck, StartsThatTogetherMakeMoreOrFewerThanOrderedAreNoContinuation) {
    EXPECT_EQ(keys(gone_on_with(1, 3).close("count").flaws()), Keys{"count_not_agreed"});
    EXPECT_EQ(keys(gone_on_with(1, 1).close("count").flaws()), Keys{"count_not_agreed"});
}

TEST(RunCheck, AContinuationNeedsTheHaltOfTheStartBefore) {
    Making run;
    run.order(3).hello().confirmed().state("started").drops(0, 1);
    run.order(2).confirmed().state("started").drops(0, 2).state("halted", "count");
    EXPECT_EQ(keys(run.close("count").flaws()), Keys{"several_starts"});
}

// 2026-11-26: a drop that nobody can have commanded passed for one of the run.
TEST(RunCheck, SaysThatADropWasCommandedBehindTheHalt) {
    const Integrity found =
        started(30).drops(0, 28).state("halted", "count").drops(28, 30).close("count");
    EXPECT_EQ(keys(found.flaws()), Keys{"drop_while_halted"});
    EXPECT_EQ(only(found).count, 2U);
    EXPECT_FALSE(found.complete());
    EXPECT_EQ(keys(found.contradictions()), Keys{"drop_while_halted"});
    EXPECT_NE(in_words(only(found)).find("2 drops were commanded behind `halted`"),
              std::string::npos);
}

TEST(RunCheck, ADropOfAConfirmedSecondStartIsNotBehindTheHalt) {
    Making run = started(10);
    run.drops(0, 10).state("halted", "host").confirmed().order(5).state("armed").state("started");
    EXPECT_TRUE(run.drops(0, 5).state("halted", "count").close("count").complete());
}

TEST(Flaw, EveryKindHasAKeyAndWords) {
    for (int i = 0; i <= static_cast<int>(Flaw::bad_signature); ++i) {
        const auto flaw = static_cast<Flaw>(i);
        EXPECT_FALSE(row_of(flaw).key.empty());
        EXPECT_FALSE(in_words({flaw, 1, 0}).empty());
        EXPECT_NE(in_words({flaw, 3, 17}).find("(line 17)"), std::string::npos);
    }
    EXPECT_EQ(in_words({Flaw::sequence_gap, 7, 33}), "7 lines are missing (line 33)");
    EXPECT_EQ(in_words({Flaw::sequence_gap, 1, 0}), "1 line is missing");
    EXPECT_EQ(in_words({Flaw::not_closed, 1, 0}), "it does not end with @close");
    EXPECT_EQ(
        in_words({Flaw::reset_in_run, 1, 5}),
        "the controller was reset in mid-run, so what it had not handed over is lost (line 5)");
}
