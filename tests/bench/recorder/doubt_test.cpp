// Who may start, halt or acknowledge while it is not sure whom one speaks with, or what moves.
#include "bench/recorder/halt_motors.hpp"

#include "a_recorder.hpp"

namespace dropledger::recorder {
namespace {

using droplog::Stamp;
using droplog::state_line;

// A confirmation covers the start that it was asked for, by whoever stands there now.
TEST_F(Recorder, StartsNothingOnAConfirmationThatIsOld) {
    RunPlan plan = leave(plan_of(20));
    fake.clock.wait(plan.timings.confirmed_for + Microseconds{1});
    const auto summary = record(std::move(plan), path, bench(), hooks);
    ASSERT_FALSE(summary);
    EXPECT_NE(summary.error().what.find("long after the start was confirmed"), std::string::npos);
    EXPECT_EQ(ordered("arm"), 0U);
    EXPECT_EQ(ordered("go"), 0U);
    EXPECT_EQ(folder.entries(), 0);
}

TEST(Clock, GoesOnWhileTheMachineSleeps) {
    timespec now{};
    ASSERT_EQ(::clock_gettime(CLOCK_BOOTTIME, &now), 0);
    SystemClock clock;
    EXPECT_GE(clock.steady(), std::chrono::seconds{now.tv_sec});
    EXPECT_LT(clock.steady(), std::chrono::seconds{now.tv_sec + 60});
}

TEST_F(Recorder, AcknowledgesNothingOnANewLinkBeforeHelloHasNamedTheBoot) {
    bool back = false;
    bool named = false;
    int hellos = 0;
    fake.at(2'000'000, [this] { fake.unplug(600'000); });
    fake.at(2'600'000, [&] { back = true; });
    fake.wire = [&](std::string line) {
        if (!back || !line.starts_with("hello,"))
            return line;
        named = ++hellos > 3;
        return named ? line : "";
    };
    fake.arrives = [&](const std::string& line) {
        EXPECT_TRUE(!back || named || !line.starts_with("ack,")) << line;
        return true;
    };
    const auto summary = run(200);
    ASSERT_TRUE(summary) << summary.error().message();
    EXPECT_TRUE(named);
    expect_complete();
}

// 2026-11-26: lines of a new boot came before its `hello` had and stood in the log as the old one's.
TEST_F(Recorder, TakesNoLineOnANewLinkBeforeHelloHasNamedTheBoot) {
    ASSERT_TRUE(run(10));
    const std::vector<std::string> old = controller_lines(log());
    const std::string kept = log().substr(0, log().find('\n', log().find(old[4])) + 1);
    for (const bool hello_is_late : {false, true}) {
        fake.wire = [](std::string line) { return line; };
        fake.boot();
        fake.clock.wait(Microseconds{9'000'000}); // its beats have the numbers that are waited for
        files::put_content(path, kept);
        int hellos = 0;
        fake.wire = [&](std::string line) {
            return hello_is_late && line.starts_with("hello,") && ++hellos < 3 ? "" : line;
        };
        const auto summary = go_on();
        ASSERT_TRUE(summary) << summary.error().message();
        EXPECT_EQ(summary->end_reason, "reset");
        const std::string first_boot =
            log().substr(0, log().find(hello_is_late ? "BOOT-3" : "BOOT-2"));
        for (const std::string& line : controller_lines(first_boot))
            EXPECT_NE(std::find(old.begin(), old.end(), line), old.end()) << line;
    }
}

TEST_F(Recorder, DoesNotTakeALostLineForARecorderThatStoodStill) {
    fake.at(2'000'000, [this] { fake.unplug(15'000'000); });
    const auto summary = run(100);
    ASSERT_TRUE(summary) << summary.error().message();
    EXPECT_EQ(summary->end_reason, "host_silent");
    EXPECT_FALSE(said("stood still"));
    EXPECT_TRUE(summary->left_open);
    EXPECT_TRUE(integrity_of(log()).seals.intact);
}

// A run that was never seen to start may have started in lines that are lost.
TEST_F(Recorder, StartsNothingInALogOfWhichLinesAreLost) {
    fake.arrives = [](const std::string& line) {
        return !line.starts_with("arm,") && !line.starts_with("go*");
    };
    hooks.interrupts = [this] { return fake.now_us() > 3'000'000 ? 2 : 0; };
    ASSERT_FALSE(run(30));
    hooks.interrupts = [] { return 0; };
    fake.arrives = [](const std::string&) { return true; };
    bool lost = false;
    fake.loses = [&](std::uint32_t) { return !std::exchange(lost, true); };
    fake.clock.wait(Microseconds{1'100'000}); // of a beat
    const auto summary = go_on();
    ASSERT_FALSE(summary);
    EXPECT_NE(summary.error().what.find("has lost lines of this run"), std::string::npos)
        << summary.error().message();
    EXPECT_EQ(fake.starts(), 0);
    EXPECT_EQ(ordered("go"), 0U);
}

// The new boot's greeting is lost, and its next lines have the numbers that are waited for.
TEST_F(Recorder, SendsNoGoToABootThatNoHelloHasNamed) {
    bool reset = false;
    int hellos = 0;
    fake.wire = [&](std::string line) {
        return reset && line.starts_with("hello,") && hellos++ == 0 ? "" : line;
    };
    fake.arrives = [&](const std::string& line) {
        if (!line.starts_with("arm,") || reset)
            return true;
        reset = true;
        fake.boot();
        fake.say("beat", ",0,0");
        fake.say("beat", ",0,0");
        return false; // the order comes again, and reaches the new boot
    };
    const auto summary = run(20);
    EXPECT_FALSE(summary && summary->as_planned);
    EXPECT_EQ(ordered("go"), 0U);
    EXPECT_EQ(fake.starts(), 0);
    EXPECT_GE(ordered("halt"), 1U); // it was armed
}

// 2026-11-26, found by fuzzing: it stood in the log as a line of the former boot.
TEST_F(Recorder, TakesNothingOfANewBootBeforeItsHelloAndLeavesTheLogOpen) {
    fake.at(2'000'000, [this] { fake.boot(); });
    fake.wire = [this](std::string line) {
        return fake.now_us() > 1'900'000 && line.starts_with("hello,0,") ? "" : line;
    };
    const auto summary = run(100);
    ASSERT_FALSE(summary);
    EXPECT_NE(summary.error().what.find("its first line does not come"), std::string::npos);
    EXPECT_EQ(log().find("BOOT-2"), std::string::npos);
    EXPECT_EQ(integrity_of(log()).lines.conflicting, 0U);
    EXPECT_EQ(count_of(log(), "@close,"), 0U);
    fake.wire = [](std::string line) { return line; };
    const auto rest = go_on();
    ASSERT_TRUE(rest) << rest.error().message();
    EXPECT_EQ(rest->end_reason, "reset");
    EXPECT_EQ(integrity_of(log()).boots, 2U);
    EXPECT_FALSE(integrity_of(log()).complete());
}

TEST_F(Recorder, HaltsTheNewBootAfterAResetWhateverReachedIt) {
    fake.at(2'000'000, [this] { fake.boot(); });
    const auto summary = run(100);
    ASSERT_TRUE(summary) << summary.error().message();
    EXPECT_EQ(summary->end_reason, "reset");
    EXPECT_EQ(ordered("halt"), 1U);
}

// The protocol alone, line by line.
class Talk : public testing::Test {
protected:
    Talk() { protocol.link_up(now); }

    void hear(const std::string& line) {
        protocol.line(line, now);
        pass(1'000);
    }
    void pass(std::int64_t us) {
        now += Microseconds{us};
        protocol.time(now);
        for (const Action& action : protocol.take_actions())
            if (action.kind == ActionKind::send || action.kind == ActionKind::send_synced)
                sent.push_back(action.text.substr(0, action.text.find_first_of(",*")));
    }
    [[nodiscard]] std::size_t count(const std::string& command) const {
        return static_cast<std::size_t>(std::count(sent.begin(), sent.end(), command));
    }
    [[nodiscard]] Stamp next() { return {seq++, static_cast<std::uint32_t>(now.count())}; }
    void say(const char* name, const char* detail = "") { hear(state_line(next(), name, detail)); }
    void until_armed() {
        hear(droplog::hello_line(next(), {1, "B", 1, "fw"}));
        const Stamp at = next();
        hear(droplog::beat_line(at, at.seq, 0)); // nothing older is held
        say("armed");
    }
    [[nodiscard]] static Leave leave(Clock& clock) {
        return {.start = StartPrompt{clock}.told_beforehand()};
    }

    FakeBench fake;
    Microseconds now{1'000};
    std::uint32_t seq = 0;
    std::vector<std::string> sent;
    ArmOrder order{
        .mode = droplog::Mode::single, .spacing_um = 100'000, .speed_um_s = 250'000, .drops = 50};
    Protocol protocol{order, {}, leave(fake.clock)};
};

// 2026-11-26: three refusals of a `go` that was sent again passed for an idle controller.
TEST_F(Talk, DoesNotTakeTheRefusalsOfARepeatedGoForThoseOfAHalt) {
    until_armed();
    for (int i = 0; i < 3; ++i)
        pass(400'000);
    ASSERT_EQ(count("go"), 4U);
    say("started");
    protocol.halt("interrupted", now);
    for (int i = 0; i < 3; ++i)
        say("refused", "state");
    EXPECT_EQ(protocol.phase(), Phase::halting);
    EXPECT_TRUE(protocol.needs_halt());
    say("halted", "host");
    EXPECT_EQ(protocol.phase(), Phase::settling);
    EXPECT_FALSE(protocol.needs_halt());
}

TEST_F(Talk, BelievesAnIdleControllerThatHasRefusedEnough) {
    until_armed();
    say("started");
    protocol.halt("interrupted", now);
    for (int i = 0; i < 3; ++i)
        say("refused", "state");
    EXPECT_EQ(protocol.phase(), Phase::settling);
}

// The halt was lost, and an order's refusals came before `started`.
TEST_F(Talk, HaltsAStartThatShowsOnlyAfterTheHaltSeemedDone) {
    until_armed();
    protocol.halt("interrupted", now);
    for (int i = 0; i < 3; ++i)
        say("refused", "state");
    ASSERT_EQ(protocol.phase(), Phase::settling);
    const std::size_t halts = count("halt");
    say("started");
    EXPECT_EQ(protocol.phase(), Phase::halting);
    EXPECT_GT(count("halt"), halts);
    EXPECT_TRUE(protocol.needs_halt());
}

TEST_F(Talk, AsksForNothingOnceMoreThatHasWaitedTooLong) { // the machine slept
    until_armed();
    const std::size_t goes = count("go");
    pass(3'600'000'000);
    EXPECT_EQ(count("go"), goes);
    EXPECT_EQ(protocol.phase(), Phase::halting);
}

TEST_F(Talk, TriesTheHaltOnALineThatHasComeBack) {
    until_armed();
    say("started");
    protocol.halt("interrupted", now);
    pass(1'000);
    now += Microseconds{20'000'000}; // the line was gone
    const std::size_t halts = count("halt");
    protocol.link_up(now);
    pass(400'000);
    EXPECT_EQ(protocol.phase(), Phase::halting);
    EXPECT_GT(count("halt"), halts);
}

class TalkInLineMode : public Talk {
protected:
    TalkInLineMode() {
        order.mode = droplog::Mode::line;
        order.drops = 10; // 1 m
        protocol = Protocol{order, {}, leave(fake.clock)};
        protocol.link_up(now);
    }
};

TEST_F(TalkInLineMode, HaltsAMachineThatTravelsFarBeyondItsOrder) {
    until_armed();
    say("started");
    hear(droplog::travel_line(next(), 70'000'000)); // wherever it stood
    hear(droplog::travel_line(next(), 76'000'000));
    EXPECT_EQ(protocol.phase(), Phase::running);
    hear(droplog::travel_line(next(), 76'200'000));
    EXPECT_EQ(protocol.phase(), Phase::halting);
    EXPECT_EQ(protocol.end_reason(), "more_than_ordered");
}

TEST(HaltMotors, BelievesNoLineOfBefore) {
    FakeBench fake;
    auto link = fake.open();
    ASSERT_TRUE(link);
    fake.arrives = [](const std::string&) { return false; };
    const std::string old = state_line({7, 1}, "halted", "count") + '\n';
    fake.put(old);
    Wire wire(std::move(*link));
    EXPECT_FALSE(halt_motors(wire, fake.clock, {}, {.newest_seq = 7}));
    fake.put(old);
    EXPECT_TRUE(halt_motors(wire, fake.clock, {}, {.newest_seq = 6}));
}

TEST(HaltMotors, CountsTheRefusalsThatAGoMayStillGet) {
    FakeBench fake;
    auto link = fake.open();
    ASSERT_TRUE(link);
    fake.arrives = [](const std::string&) { return false; };
    for (std::uint32_t seq = 0; seq < 4; ++seq)
        fake.put(state_line({seq, 1}, "refused", "state") + '\n');
    Wire wire(std::move(*link));
    EXPECT_FALSE(halt_motors(wire, fake.clock, {}, {.newest_seq = {}, .goes_unanswered = 2}));
}

class CutOff final : public link::Transport {
public:
    explicit CutOff(std::string& bytes) : bytes_(bytes) {}
    link::Read read(std::chrono::milliseconds) override { return {}; }
    Status write(std::string_view bytes) override {
        const bool cut = std::exchange(cut_, false);
        bytes_ += bytes.substr(0, cut ? 4 : bytes.size());
        return cut ? Status{Error{ErrorKind::device, "test", "it takes no bytes", ""}} : Done{};
    }
    void close() override {}

private:
    std::string& bytes_;
    bool cut_ = true;
};

TEST(Wire, EndsALineThatWasCutOffBeforeTheNext) {
    std::string bytes;
    Wire wire(std::make_unique<CutOff>(bytes));
    EXPECT_FALSE(wire.write("alive*1234"));
    EXPECT_TRUE(wire.write("halt*5678"));
    EXPECT_TRUE(wire.write("halt*5678"));
    EXPECT_EQ(bytes, "aliv\nhalt*5678\nhalt*5678\n");
}

} // namespace
} // namespace dropledger::recorder
