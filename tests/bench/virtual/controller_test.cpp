#include "a_scenario.hpp"

#include "bench/virtual/controller.hpp"
#include "bench/virtual/run_log.hpp"

#include <gtest/gtest.h>

#include <algorithm>

namespace dropledger::bench_virtual {
namespace {

constexpr std::int64_t second = 1000000;
constexpr const char* good_arm = "arm,single,180000,1,250000,1,20";

// The controller with a hand on its clock; both clocks run alike.
class Desk {
public:
    explicit Desk(const Scenario& scenario = single_scenario()) : controller(scenario) {}

    void send(const std::string& body) { controller.receive(droplog::encode(body), now()); }
    void raw(const std::string& line) { controller.receive(line, now()); }
    void pass(std::int64_t us) {
        at_us += us;
        controller.advance(now());
    }
    // With an `alive` every half second, as a host does.
    void pass_alive(std::int64_t us) {
        for (std::int64_t left = us; left > 0; left -= second / 2) {
            pass(std::min(left, second / 2));
            send("alive");
        }
    }
    void run_to_the_end() {
        while (controller.state() != State::idle)
            pass_alive(second);
    }
    // What came since the last call, as `name` or `name,detail` for states, faults and refusals.
    std::vector<std::string> heard() {
        std::vector<std::string> names;
        for (const std::string& line : controller.take_lines()) {
            const auto fields = droplog::fields_of(*droplog::checked_body(line));
            std::string name(fields[0]);
            if (name == "refused" || name == "halted")
                name += "," + std::string(fields[3]);
            if (name == "fault")
                name += "," + std::string(fields[3]) + "," + std::string(fields[4]);
            names.push_back(name);
        }
        return names;
    }
    std::string last() {
        const auto names = heard();
        return names.empty() ? "(nothing)" : names.back();
    }
    bool has(const std::string& wanted) {
        const auto names = heard();
        return std::find(names.begin(), names.end(), wanted) != names.end();
    }
    [[nodiscard]] Now now() const { return {.bench_us = at_us, .host_us = at_us}; }

    Controller controller;
    std::int64_t at_us = 0;
};

using Names = std::vector<std::string>;

TEST(Controller, SaysHelloAtBootAndOnRequest) {
    Desk desk;
    const auto lines = desk.controller.take_lines();
    ASSERT_EQ(lines.size(), 1U);
    const auto hello = droplog::decode(lines[0]);
    EXPECT_EQ(hello.name, droplog::LineName::hello);
    EXPECT_EQ(hello.seq, 0U);
    EXPECT_EQ(hello.index, 1U); // protocol
    EXPECT_EQ(hello.count, 1U); // channels
    desk.send("hello");
    EXPECT_EQ(desk.heard(), Names{"hello"});
}

TEST(Controller, RunsFromArmToCount) {
    Desk desk;
    desk.send(good_arm);
    EXPECT_EQ(desk.controller.state(), State::armed);
    desk.send("go");
    EXPECT_EQ(desk.controller.state(), State::running);
    EXPECT_EQ(desk.heard(), (Names{"hello", "armed", "started"}));
    desk.run_to_the_end();
    const auto names = desk.heard();
    EXPECT_EQ(std::count(names.begin(), names.end(), "drop"), 20);
    EXPECT_EQ(std::count(names.begin(), names.end(), "halted,count"), 1);
    const auto truths = desk.controller.take_truths();
    EXPECT_EQ(std::count_if(truths.begin(), truths.end(),
                            [](const RunTruth& t) { return t.truth.kind == TruthKind::drop; }),
              20);
}

struct Refusal {
    const char* name;
    const char* line; // encoded here
    const char* code;
};

class Refuses : public testing::TestWithParam<Refusal> {};

TEST_P(Refuses, AndSaysWhy) {
    Desk desk;
    desk.send(GetParam().line);
    EXPECT_EQ(desk.last(), std::string("refused,") + GetParam().code);
    EXPECT_EQ(desk.controller.state(), State::idle);
}

INSTANTIATE_TEST_SUITE_P(
    Rows, Refuses,
    testing::Values(Refusal{"GoUnarmed", "go", "state"}, Refusal{"HaltIdle", "halt", "state"},
                    Refusal{"Unknown", "dance", "unknown"},
                    Refusal{"GoWithField", "go,1", "syntax"},
                    Refusal{"ArmShort", "arm,single,180000,1,250000,1", "syntax"},
                    Refusal{"ArmLong", "arm,single,180000,1,250000,1,20,0", "syntax"},
                    Refusal{"ArmLetters", "arm,single,wide,1,250000,1,20", "syntax"},
                    Refusal{"Mode", "arm,triple,180000,1,250000,1,20", "mode"},
                    Refusal{"SpacingZero", "arm,single,0,1,250000,1,20", "spacing"},
                    Refusal{"SpacingHuge", "arm,single,99000000,1,250000,1,20", "spacing"},
                    Refusal{"CountInSingle", "arm,single,180000,2,250000,1,20", "count"},
                    Refusal{"CountZero", "arm,portion,180000,0,250000,1,20", "count"},
                    Refusal{"SpeedNegative", "arm,single,180000,1,-250000,1,20", "speed"},
                    Refusal{"SpeedZero", "arm,single,180000,1,0,1,20", "speed"},
                    Refusal{"NoChannel", "arm,single,180000,1,250000,0,20", "channels"},
                    Refusal{"ForeignChannel", "arm,single,180000,1,250000,2,20", "channels"},
                    Refusal{"DropsNegative", "arm,single,180000,1,250000,1,-1", "drops"},
                    Refusal{"AckOfTheFuture", "ack,1", "seq"},
                    Refusal{"AckLetters", "ack,x", "syntax"}, Refusal{"AckBare", "ack", "syntax"},
                    Refusal{"ResendOfTheFuture", "resend,2", "seq"}),
    [](const auto& row) { return std::string(row.param.name); });

TEST(Controller, RefusesALineWithAWrongCrc) {
    Desk desk;
    desk.raw("go*0000");
    EXPECT_EQ(desk.last(), "refused,crc");
    desk.raw("");
    EXPECT_EQ(desk.last(), "refused,crc");
    desk.raw(std::string(500, 'x'));
    EXPECT_EQ(desk.last(), "refused,length");
}

TEST(Controller, ToleratesACarriageReturn) {
    Desk desk;
    desk.raw(droplog::encode("hello") + "\r");
    EXPECT_EQ(desk.last(), "hello");
}

TEST(Controller, RefusesToArmTwiceOrInMidRun) {
    Desk desk;
    desk.send(good_arm);
    desk.send(good_arm);
    EXPECT_EQ(desk.last(), "refused,state");
    desk.send("go");
    desk.send("go");
    EXPECT_EQ(desk.last(), "refused,state");
    desk.send(good_arm);
    EXPECT_EQ(desk.last(), "refused,state");
}

TEST(Controller, HaltsOnRequestOnceTheLastSeedHasFallen) {
    Desk desk;
    desk.send(good_arm);
    desk.send("go");
    desk.pass_alive(5 * second);
    desk.send("halt");
    EXPECT_EQ(desk.controller.state(), State::stopping);
    const auto before = desk.heard();
    desk.pass_alive(5 * second);
    const auto after = desk.heard();
    EXPECT_EQ(std::count(after.begin(), after.end(), "drop"), 0);
    EXPECT_EQ(std::count(after.begin(), after.end(), "halted,host"), 1);
    EXPECT_EQ(desk.controller.state(), State::idle);
    const auto drops = std::count(before.begin(), before.end(), "drop");
    EXPECT_GT(drops, 0);
    std::int64_t truths = 0;
    for (const RunTruth& truth : desk.controller.take_truths())
        truths += truth.truth.kind == TruthKind::drop ? 1 : 0;
    EXPECT_EQ(truths, drops);
}

TEST(Controller, HaltsAtOnceWhenOnlyArmed) {
    Desk desk;
    desk.send(good_arm);
    desk.send("halt");
    EXPECT_EQ(desk.last(), "halted,host");
    EXPECT_EQ(desk.controller.state(), State::idle);
}

TEST(Controller, HaltsTwoSecondsAfterTheLastAlive) {
    Desk desk;
    desk.send(good_arm);
    desk.send("go");
    desk.pass_alive(3 * second);
    desk.pass(2 * second); // exactly two are allowed
    EXPECT_FALSE(desk.has("fault,-1,host_silent"));
    desk.pass(1);
    EXPECT_TRUE(desk.has("fault,-1,host_silent"));
    desk.pass(5 * second);
    EXPECT_TRUE(desk.has("halted,host_silent"));
}

TEST(Controller, IsSilentlyPatientWhileIdleButNotWhileArmed) {
    Desk desk;
    desk.pass(60 * second);
    EXPECT_FALSE(desk.has("fault,-1,host_silent"));
    desk.send(good_arm);
    desk.pass(2 * second + 1);
    EXPECT_EQ(desk.heard().back(), "halted,host_silent");
}

TEST(Controller, BeatsAtLeastOnceASecondWithBacklogAndLost) {
    Desk desk;
    desk.pass(10 * second);
    std::uint32_t before_us = 0;
    std::uint32_t beats = 0;
    for (const std::string& line : desk.controller.take_lines()) {
        const auto record = droplog::decode(line);
        if (record.name != droplog::LineName::beat)
            continue;
        EXPECT_LE(record.tick_us - before_us, 1000000U);
        before_us = record.tick_us;
        EXPECT_EQ(record.index, ++beats); // hello and the beats before it are not acknowledged
        EXPECT_EQ(record.count, 0U);
    }
    EXPECT_GE(beats, 10U);
}

TEST(Controller, StopsForEstopAndGuardAndRefusesToArmUntilMadeSafe) {
    for (const bool estop : {true, false}) {
        Desk desk;
        desk.send(good_arm);
        desk.send("go");
        desk.pass_alive(2 * second);
        const std::string code = estop ? "estop" : "guard";
        if (estop)
            desk.controller.press_estop(desk.now());
        else
            desk.controller.open_guard(desk.now());
        EXPECT_TRUE(desk.has("fault,-1," + code));
        desk.pass_alive(3 * second);
        EXPECT_TRUE(desk.has("halted," + code));
        desk.send(good_arm);
        EXPECT_EQ(desk.last(), "refused," + code);
        desk.controller.make_safe();
        desk.send(good_arm);
        EXPECT_EQ(desk.last(), "armed");
    }
}

TEST(Controller, ReportsScriptedFaultsAndHaltsForAStalledMotor) {
    Desk desk(scenario_of(std::string(single_toml) +
                          "[[fault]]\nat_s = 2\nchannel = 0\ncode = \"gate_blocked\"\n"
                          "[[fault]]\nat_s = 3.5\nchannel = 0\ncode = \"motor_stall\"\n"));
    desk.send(good_arm);
    desk.send("go");
    desk.pass_alive(3 * second);
    EXPECT_TRUE(desk.has("fault,0,gate_blocked"));
    EXPECT_EQ(desk.controller.state(), State::running);
    desk.pass_alive(4 * second);
    const auto names = desk.heard();
    EXPECT_EQ(std::count(names.begin(), names.end(), "fault,0,motor_stall"), 1);
    EXPECT_EQ(std::count(names.begin(), names.end(), "halted,fault"), 1);
}

TEST(Controller, SendsAgainFromTheSequenceAskedFor) {
    Desk desk;
    desk.pass(5 * second);
    const auto first = desk.controller.take_lines();
    ASSERT_GE(first.size(), 6U);
    desk.send("resend,2");
    const auto again = desk.controller.take_lines();
    EXPECT_EQ(again, std::vector<std::string>(first.begin() + 2, first.end()));
    EXPECT_TRUE(desk.controller.take_lines().empty());
}

TEST(Controller, AResendOfTheNextLineIsNoFault) {
    Desk desk;
    static_cast<void>(desk.controller.take_lines());
    desk.send("resend,1");
    EXPECT_TRUE(desk.controller.take_lines().empty());
}

TEST(Controller, ForgetsOnlyWhatIsAcknowledged) {
    Desk desk;
    desk.pass(5 * second);
    const auto sent = desk.controller.take_lines();
    desk.send("ack,3");
    EXPECT_EQ(desk.controller.backlog(), sent.size() - 4);
    desk.send("resend,4");
    EXPECT_EQ(desk.controller.take_lines().front(), sent[4]);
    desk.send("resend,3");
    EXPECT_EQ(desk.last(), "refused,gone");
    desk.send("ack,2"); // late, and already known
    EXPECT_EQ(desk.last(), "(nothing)");
}

TEST(Controller, CountsAsLostWhatItsFullBufferCannotKeep) {
    Scenario scenario = single_scenario();
    scenario.buffer_lines = 64;
    Desk desk(scenario);
    desk.send("arm,single,180000,1,250000,1,60");
    desk.send("go");
    desk.run_to_the_end(); // nothing is acknowledged
    const auto sent = desk.controller.take_lines();
    EXPECT_GT(desk.controller.lost(), 100U);
    EXPECT_EQ(desk.controller.next_seq(), desk.controller.lost() + sent.size());
    EXPECT_EQ(droplog::decode(sent[63]).seq, 63U);
    const auto last = droplog::decode(sent.back()); // the halt got through, with its own number
    EXPECT_EQ(last.name, droplog::LineName::halted);
    EXPECT_GE(last.seq, 400U);
    desk.send("resend,64"); // lost: go on with the next that is there
    EXPECT_EQ(droplog::decode(desk.controller.take_lines().front()).name,
              droplog::LineName::halted);
    desk.send("ack," + std::to_string(last.seq));
    const std::uint32_t lost = desk.controller.lost();
    desk.pass(second);
    EXPECT_EQ(droplog::decode(desk.controller.take_lines().back()).count, lost);
}

TEST(Controller, AResetBringsANewBootAndStartsSequenceAndTickAnew) {
    Desk desk;
    desk.send(good_arm);
    desk.send("go");
    desk.pass_alive(5 * second);
    const std::string boot = desk.controller.boot();
    const auto before = desk.controller.take_truths();
    desk.controller.reset(desk.now());
    EXPECT_EQ(desk.controller.state(), State::idle);
    EXPECT_NE(desk.controller.boot(), boot);
    const auto lines = desk.controller.take_lines();
    ASSERT_EQ(lines.size(), 1U);
    const auto hello = droplog::decode(lines[0]);
    EXPECT_EQ(hello.name, droplog::LineName::hello);
    EXPECT_EQ(hello.seq, 0U);
    EXPECT_EQ(hello.tick_us, 0U);
    desk.send("go");
    EXPECT_EQ(desk.last(), "refused,state");
    const auto after = desk.controller.take_truths();
    EXPECT_GT(before.size() + after.size(), 3U); // the truth of the broken run is not lost
}

TEST(Controller, ASecondRunHasOtherSeedsAndItsOwnTruth) {
    Desk desk;
    const auto landings = [&desk] {
        desk.send(good_arm);
        desk.send("go");
        desk.run_to_the_end();
        std::vector<std::int64_t> all;
        int run = -1;
        for (const RunTruth& truth : desk.controller.take_truths()) {
            all.insert(all.end(), truth.truth.landings_um.begin(), truth.truth.landings_um.end());
            run = truth.run;
        }
        return std::pair(run, all);
    };
    const auto first = landings();
    const auto second_run = landings();
    EXPECT_EQ(first.first, 0);
    EXPECT_EQ(second_run.first, 1);
    EXPECT_NE(first.second, second_run.second);
}

TEST(Controller, RunsWithoutEndUntilHaltedWhenDropsIsZero) {
    Desk desk;
    desk.send("arm,single,180000,1,250000,1,0");
    desk.send("go");
    desk.pass_alive(120 * second);
    EXPECT_EQ(desk.controller.state(), State::running);
    desk.send("halt");
    desk.pass_alive(3 * second);
    EXPECT_TRUE(desk.has("halted,host"));
}

TEST(Controller, KnowsWhenTheHostHasEverythingOfARun) {
    Desk desk;
    desk.send(good_arm);
    desk.send("go");
    desk.run_to_the_end();
    EXPECT_FALSE(desk.controller.run_is_delivered());
    desk.send("ack," + std::to_string(desk.controller.next_seq() - 1));
    EXPECT_TRUE(desk.controller.run_is_delivered());
}

TEST(Controller, LineModeCommandsNoDropsAndHaltsAfterItsSeeds) {
    Desk desk(line_scenario("1.0"));
    desk.send("arm,line,33333,1,250000,1,300");
    desk.send("go");
    desk.run_to_the_end();
    const auto names = desk.heard();
    EXPECT_EQ(std::count(names.begin(), names.end(), "drop"), 0);
    EXPECT_GT(std::count(names.begin(), names.end(), "pulse"), 400); // two gates
    EXPECT_EQ(std::count(names.begin(), names.end(), "halted,count"), 1);
}

} // namespace
} // namespace dropledger::bench_virtual
