#include "bench/recorder/protocol/recovery.hpp"

#include "analysis/droplog/reader.hpp"
#include "analysis/droplog/writer.hpp"
#include "bench/recorder/log_file.hpp"
#include "bench/recorder/recorder.hpp"
#include "tests/bench/io/temporary_folder.hpp"
#include "tests/bench/recorder/fewest_drops.hpp"
#include "tests/support/fake_bench.hpp"

#include <filesystem>

#include <gtest/gtest.h>
#include <sys/stat.h>

namespace dropledger::recorder {
namespace {

using files::content_of;
using files::put_content;
using files::TemporaryFolder;

droplog::Integrity integrity_of(const std::string& text) {
    StringSource source(text);
    const auto reading = droplog::check_log(source, "test");
    EXPECT_TRUE(reading);
    return reading ? reading->integrity : droplog::Integrity{};
}

std::size_t count_of(const std::string& text, const std::string& beginning) {
    std::size_t count = text.starts_with(beginning) ? 1 : 0;
    for (std::size_t at = text.find('\n' + beginning); at != std::string::npos; ++count)
        at = text.find('\n' + beginning, at + 1);
    return count;
}

class Recovery : public testing::Test {
protected:
    Recovery() {
        fake.forgets = false;
        RunPlan plan;
        plan.run_id = "00000000-0000-4000-8000-000000000002";
        plan.settings = {{"mode", "portion"},
                         {"spacing_um", "300000"},
                         {"count", "3"},
                         {"speed_um_s", "500000"}};
        plan.channel_settings = {{0, "gate0_place", "above"}};
        plan.order = {.mode = droplog::Mode::portion,
                      .spacing_um = 300'000,
                      .count = 3,
                      .speed_um_s = 500'000,
                      .channel_mask = 1,
                      .drops = 30};
        plan.start = fake.leave();
        EXPECT_TRUE(record(std::move(plan), path, bench(), {}));
        whole = content_of(path);
    }
    [[nodiscard]] Bench bench() {
        return {[this] { return fake.open(); }, fake.clock};
    }
    [[nodiscard]] std::string without_close() const {
        return whole.substr(0, whole.rfind("@close"));
    }

    TemporaryFolder folder;
    std::string path = folder / "run.droplog";
    FakeBench fake;
    std::string whole;
};

TEST_F(Recovery, FindsOrderPlaceAndStateOfTheRun) {
    put_content(path, without_close());
    const auto found = recover(path);
    ASSERT_TRUE(found) << found.error().message();
    EXPECT_EQ(arm_line(found->order), arm_line({.mode = droplog::Mode::portion,
                                                .spacing_um = 300'000,
                                                .count = 3,
                                                .speed_um_s = 500'000,
                                                .channel_mask = 1,
                                                .drops = 30}));
    EXPECT_EQ(found->run_id, "00000000-0000-4000-8000-000000000002");
    EXPECT_EQ(found->boot, "BOOT-1");
    EXPECT_EQ(found->state, ControllerState::halted);
    EXPECT_EQ(fewest_drops(found->tally), 30U);
    EXPECT_EQ(found->torn_bytes, 0U);
}

TEST_F(Recovery, CutsATornLastLineAtEveryByteOfTheLastKilobyteAndKeepsTheChain) {
    const std::string open_log = without_close();
    ASSERT_GT(open_log.size(), 2000U);
    for (std::size_t size = open_log.size() - 1024; size <= open_log.size(); ++size) {
        const std::string cut = open_log.substr(0, size);
        put_content(path, cut);
        auto found = recover(path);
        ASSERT_TRUE(found) << size << ": " << found.error().message();
        ASSERT_EQ(found->whole_bytes, cut.rfind('\n') + 1);
        ASSERT_EQ(found->whole_bytes + found->torn_bytes, size);
        auto file = LogFile::open_existing(path);
        ASSERT_TRUE(file);
        ASSERT_TRUE(file->cut_to(found->whole_bytes));
        droplog::Writer writer([&](std::string_view line) { file->add(line); },
                               std::move(found->chain));
        writer.resumed(1);
        writer.close("test", std::nullopt);
        ASSERT_TRUE(file->write());
        const auto integrity = integrity_of(content_of(path));
        ASSERT_TRUE(integrity.complete()) << "cut at " << size;
        ASSERT_TRUE(integrity.seals.intact) << "cut at " << size;
        ASSERT_EQ(integrity.lines.damaged, 0U) << "cut at " << size;
    }
}

TEST_F(Recovery, GoesOnFromAnyCutWithNoLineLostAndNoneTwice) {
    for (std::size_t size = whole.size() - 1024; size < whole.size() - 10; size += 31) {
        put_content(path, whole.substr(0, size));
        const auto summary = resume({}, path, bench(), {});
        ASSERT_TRUE(summary) << size << ": " << summary.error().message();
        const std::string log = content_of(path);
        const auto integrity = integrity_of(log);
        ASSERT_TRUE(integrity.complete()) << "cut at " << size;
        ASSERT_TRUE(integrity.seals.intact);
        ASSERT_EQ(integrity.lines.repeated + integrity.lines.conflicting, 0U);
        ASSERT_EQ(count_of(log, "drop,"), 30U);
        ASSERT_EQ(count_of(log, "pulse,"), 30U);
        ASSERT_EQ(count_of(log, "@resumed,"), 1U);
        ASSERT_EQ(fewest_drops(summary->tally), 30U);
        // 2026-11-25: cut behind `halted`, the reason was lost and the log closed without one.
        ASSERT_EQ(summary->end_reason, "count") << "cut at " << size;
        ASSERT_TRUE(summary->as_planned);
    }
}

TEST_F(Recovery, RefusesWhatIsNoFileWithoutWaitingForIt) {
    std::filesystem::remove(path);
    ASSERT_EQ(::mkfifo(path.c_str(), 0600), 0);
    const auto found = recover(path);
    ASSERT_FALSE(found);
    EXPECT_EQ(exit_status(found.error().kind), 65);
    EXPECT_FALSE(recover(path.substr(0, path.rfind('/'))));
}

TEST_F(Recovery, RefusesAClosedLog) {
    const auto found = recover(path);
    ASSERT_FALSE(found);
    EXPECT_EQ(exit_status(found.error().kind), 65);
    EXPECT_NE(found.error().message().find("finished"), std::string::npos);
}

TEST_F(Recovery, RefusesALogWhoseSealsDoNotHoldAndNamesTheLine) {
    std::string log = without_close();
    const std::size_t digit = log.find("drop,") + 20;
    log[digit] = log[digit] == '1' ? '2' : '1';
    put_content(path, log);
    const auto found = recover(path);
    ASSERT_FALSE(found);
    EXPECT_NE(found.error().what.find("seal"), std::string::npos);
    const auto line =
        static_cast<std::size_t>(std::count(
            log.begin(), log.begin() + static_cast<std::ptrdiff_t>(log.find("@seal")), '\n')) +
        1;
    EXPECT_EQ(found.error().where, path + ":" + std::to_string(line));
    EXPECT_FALSE(resume({}, path, bench(), {}));
    EXPECT_EQ(content_of(path), log);
}

TEST_F(Recovery, RefusesWhatHoldsNoRun) {
    put_content(path, "");
    EXPECT_FALSE(recover(path));
    put_content(path, "spacing_mm\n180\n");
    EXPECT_FALSE(recover(path));
    put_content(path, whole.substr(0, whole.find('\n') + 1));
    const auto bare = recover(path);
    ASSERT_FALSE(bare);
    EXPECT_NE(bare.error().remedy.find("new run"), std::string::npos);
    EXPECT_FALSE(recover(folder / "none"));
}

TEST_F(Recovery, EndsARunWhoseControllerWasSwitchedOffMeanwhile) {
    put_content(path, whole.substr(0, whole.find("halted,")));
    fake.boot();
    const auto summary = resume({}, path, bench(), {});
    ASSERT_TRUE(summary) << summary.error().message();
    EXPECT_EQ(summary->end_reason, "reset");
    EXPECT_FALSE(fake.moving());
    EXPECT_EQ(integrity_of(content_of(path)).boots, 2U);
}

TEST_F(Recovery, HoldsTheLogAlone) {
    put_content(path, without_close());
    const auto first = LogFile::open_existing(path);
    ASSERT_TRUE(first);
    const auto second = resume({}, path, bench(), {});
    ASSERT_FALSE(second);
    EXPECT_NE(second.error().what.find("another run"), std::string::npos);
}

} // namespace
} // namespace dropledger::recorder
