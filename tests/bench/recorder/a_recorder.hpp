// A recorder on a scripted bench, with what its tests ask of a log.
#pragma once

#include "bench/recorder/recorder.hpp"

#include "analysis/droplog/reader.hpp"
#include "tests/bench/io/temporary_folder.hpp"
#include "tests/support/fake_bench.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <sstream>
#include <string>
#include <vector>

namespace dropledger::recorder {

using files::content_of;
using files::TemporaryFolder;

inline RunPlan plan_of(std::int64_t drops) {
    RunPlan plan;
    plan.run_id = "00000000-0000-4000-8000-000000000001";
    plan.settings = {
        {"mode", "single"}, {"spacing_um", "180000"}, {"count", "1"}, {"speed_um_s", "250000"}};
    plan.channel_settings = {{0, "unit", "U-1"}, {0, "gate0_place", "below"}};
    plan.order = {.mode = droplog::Mode::single,
                  .spacing_um = 180'000,
                  .count = 1,
                  .speed_um_s = 250'000,
                  .channel_mask = 1,
                  .drops = drops};
    return plan;
}

inline std::vector<std::string> lines_of(const std::string& text) {
    std::vector<std::string> lines;
    std::istringstream stream(text);
    for (std::string line; std::getline(stream, line);)
        lines.push_back(line);
    return lines;
}

inline std::vector<std::string> controller_lines(const std::string& text) {
    std::vector<std::string> kept;
    for (const std::string& line : lines_of(text))
        if (droplog::decode(line).from_controller())
            kept.push_back(line);
    return kept;
}

inline std::size_t count_of(const std::string& text, const std::string& beginning) {
    const auto lines = lines_of(text);
    return static_cast<std::size_t>(
        std::count_if(lines.begin(), lines.end(),
                      [&](const std::string& line) { return line.starts_with(beginning); }));
}

inline droplog::Integrity integrity_of(const std::string& text) {
    StringSource source(text);
    const auto reading = droplog::check_log(source, "test");
    EXPECT_TRUE(reading);
    return reading ? reading->integrity : droplog::Integrity{};
}

class Recorder : public testing::Test {
protected:
    [[nodiscard]] Result<RunSummary> run(std::int64_t drops = 20) {
        return record(leave(plan_of(drops)), path, bench(), hooks);
    }
    [[nodiscard]] Result<RunSummary> go_on() {
        return resume(leave(plan_of(0)), path, bench(), hooks);
    }
    [[nodiscard]] RunPlan leave(RunPlan plan) {
        plan.start = fake.leave();
        return plan;
    }
    [[nodiscard]] Bench bench() {
        return {[this] { return fake.open(); }, fake.clock};
    }
    [[nodiscard]] std::string log() const { return content_of(path); }
    void expect_complete() const {
        const auto integrity = integrity_of(log());
        EXPECT_TRUE(integrity.complete());
        EXPECT_TRUE(integrity.seals.intact);
        EXPECT_EQ(integrity.sequence_gaps, 0U);
        EXPECT_EQ(integrity.lines.repeated + integrity.lines.conflicting, 0U);
    }
    // Every line that the controller made up to the last one in the log, in order and once.
    void expect_all_made() const {
        const auto kept = controller_lines(log());
        ASSERT_LE(kept.size(), fake.made().size());
        for (std::size_t i = 0; i < kept.size(); ++i)
            ASSERT_EQ(kept[i], fake.made()[i]) << "line " << i;
    }
    [[nodiscard]] std::size_t ordered(const std::string& beginning) const {
        return static_cast<std::size_t>(
            std::count_if(fake.heard().begin(), fake.heard().end(),
                          [&](const std::string& line) { return line.starts_with(beginning); }));
    }
    [[nodiscard]] bool said(const std::string& part) const {
        return std::any_of(told.begin(), told.end(), [&](const std::string& text) {
            return text.find(part) != std::string::npos;
        });
    }

    TemporaryFolder folder;
    std::string path = folder / "run.droplog";
    FakeBench fake;
    std::vector<std::string> told;
    Hooks hooks{.say = [this](const std::string& text) { told.push_back(text); }};
};

} // namespace dropledger::recorder
