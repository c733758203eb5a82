// A machine's settings file under the hands that write it.
#include "bench/commands/setup/machine_file.hpp"

#include "tests/bench/io/temporary_folder.hpp"

#include <gtest/gtest.h>

#include <algorithm>

namespace dropledger::cli {

namespace {

Machine machine_in(const std::string& file) {
    Machine machine;
    machine.file = file;
    machine.units = "U-1,U-2";
    machine.run.mode = "single";
    machine.run.spacing_mm = 180.0;
    machine.run.speed_mps = 0.5;
    machine.run.drops = 500;
    return machine;
}

using files::content_of;

// Gate 0 saw its seed before the first drop, gate 1 after the last one.
calibration::FewDrops seen_by_both(int channel, const std::string& unit) {
    calibration::FewDrops few;
    few.channel = channel;
    few.unit = unit;
    few.drops = 20;
    few.gates[{channel, 0}] = {.pulses = 20, .before_first_drop = 1, .after_last_drop = 0};
    few.gates[{channel, 1}] = {.pulses = 20, .before_first_drop = 0, .after_last_drop = 1};
    return few;
}

class MachineFile : public ::testing::Test {
protected:
    files::TemporaryFolder folder_;
    std::string file_ = folder_ / "spring.toml";
    std::vector<calibration::FewDrops> tried_{seen_by_both(0, "U-1"), seen_by_both(1, "U-2")};
};

} // namespace

TEST_F(MachineFile, StaysAsItWasWhereWhatIsToBeWrittenCannotBeUsed) {
    ASSERT_TRUE(written(machine_in(file_), {}));
    const std::string before = content_of(file_);
    Machine impossible = machine_in(file_);
    impossible.run.profile = "nobody-knows-it";
    const auto refused = written(impossible, {});
    ASSERT_FALSE(refused);
    EXPECT_EQ(refused.error().message().find(".trial"), std::string::npos);
    EXPECT_EQ(content_of(file_), before);
    EXPECT_EQ(folder_.entries(), 1);
}

TEST_F(MachineFile, IsNotThereWhereItCouldNotBeUsed) {
    Machine impossible = machine_in(file_);
    impossible.run.profile = "nobody-knows-it";
    EXPECT_FALSE(written(impossible, {}));
    EXPECT_EQ(folder_.entries(), 0);
}

TEST_F(MachineFile, TakesThePlacesOfATryAndKeepsEveryOtherLine) {
    ASSERT_TRUE(written(machine_in(file_), {}));
    files::put_content(file_, content_of(file_) + "# mine: mind the left cover\n");
    ASSERT_NE(content_of(file_).find("# gate0_place: UNSURE"), std::string::npos);
    const auto back = written_beside(file_, tried_, {});
    ASSERT_TRUE(back) << back.error().message();
    const std::string text = content_of(file_);
    EXPECT_NE(text.find("# mine: mind the left cover\n"), std::string::npos);
    EXPECT_EQ(text.find("gate0_place: UNSURE"), std::string::npos);
    EXPECT_EQ(back->options.spacing_mm, 180.0);
    std::size_t places = 0;
    for (const auto& setting : back->plan.channel_settings)
        places += setting.key == "gate0_place" && setting.value == "above" ? 1U : 0U;
    EXPECT_EQ(places, 2U);
}

TEST_F(MachineFile, IsLeftAloneWhereItHasNoTableOfAUnit) {
    ASSERT_TRUE(written(machine_in(file_), {}));
    const std::string before = content_of(file_);
    tried_.push_back(seen_by_both(2, "U-9"));
    const auto back = written_beside(file_, tried_, {});
    ASSERT_FALSE(back);
    EXPECT_NE(back.error().message().find("U-9"), std::string::npos);
    EXPECT_EQ(content_of(file_), before);
}

TEST(PlacesFound, AreNoneWhereUnitsDisagreeOrSomebodyHasSaidThem) {
    std::vector<calibration::FewDrops> units{seen_by_both(0, "U-1"), seen_by_both(1, "U-2")};
    EXPECT_EQ(places_found(units).size(), 2U);
    units[1].stated[0] = droplog::GatePlace::above;
    ASSERT_EQ(places_found(units).size(), 1U);
    EXPECT_EQ(places_found(units).front().line(), "gate1_place = \"below\"");
    std::swap(units[0].gates[{0, 1}].before_first_drop, units[0].gates[{0, 1}].after_last_drop);
    EXPECT_TRUE(places_found(units).empty());
}

TEST(ReportWithPlaces, NoLongerAsksForWhatIsTaken) {
    Tried tried{.units = {seen_by_both(0, "U-1")}, .findings = {}};
    tried.findings = calibration::machine_findings(tried.units, 500'000);
    const auto asks = [](const std::vector<std::string>& lines) {
        return std::any_of(lines.begin(), lines.end(), [](const std::string& line) {
            return line.find("set gate0_place") != std::string::npos;
        });
    };
    EXPECT_TRUE(asks(report_of(tried)));
    EXPECT_FALSE(asks(report_with_places(tried)));
}

} // namespace dropledger::cli
