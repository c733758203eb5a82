#include "bench/station/mechanic/live_part.hpp"

#include <gtest/gtest.h>

using namespace dropledger;
using namespace dropledger::cli;
using namespace dropledger::station;

namespace {

std::size_t count_of(const std::string& text, const std::string& what) {
    std::size_t count = 0;
    for (std::size_t at = text.find(what); at != std::string::npos; at = text.find(what, at + 1))
        ++count;
    return count;
}

ScreenUnit unit_with(std::vector<DropSeen> last) {
    ScreenUnit unit;
    unit.unit = "U-1";
    unit.last = std::move(last);
    return unit;
}

} // namespace

TEST(LastDrops, MarksEachKindByItsOwnShapeAndSaysThemInWords) {
    const std::string strip = last_drops(unit_with(
        {DropSeen::right, DropSeen::none, DropSeen::none, DropSeen::too_many, DropSeen::right}));
    EXPECT_EQ(count_of(strip, "<circle"), 2U);
    EXPECT_EQ(count_of(strip, "class=\"m-many\""), 1U);
    EXPECT_EQ(count_of(strip, "class=\"tick\""), 2U);
    EXPECT_NE(strip.find("of the last 5 drops 2 without seed, 1 with too many"), std::string::npos);
}

TEST(LivePart, LetsNoNameOfAUnitBecomeMarkup) {
    ScreenModel model;
    model.units.push_back(unit_with({}));
    model.units.front().unit = "<script>alert(1)</script>";
    model.units.front().row = "\"><img src=x>";
    const std::string part = live_part(model);
    EXPECT_EQ(part.find("<script"), std::string::npos);
    EXPECT_EQ(part.find("<img"), std::string::npos);
    EXPECT_NE(part.find("&lt;script&gt;"), std::string::npos);
}

TEST(RunBar, HoldsTheHaltAndTheNumberOfTheRun) {
    const std::string bar = run_bar("7", "Running: <b>x</b>");
    EXPECT_NE(bar.find("data-run=\"7\""), std::string::npos);
    EXPECT_NE(bar.find("action=\"/run/halt\""), std::string::npos);
    EXPECT_EQ(bar.find("<b>"), std::string::npos);
}

TEST(LivePart, SaysThatItsWithinIsOfMissesAndMultiplesOnly) {
    ScreenModel model;
    model.miss_limit = 0.05;
    model.units.push_back(unit_with({}));
    model.units.front().so_far = SoFar::within;
    const std::string part = live_part(model);
    EXPECT_NE(part.find("misses and multiples so far"), std::string::npos);
    EXPECT_NE(part.find("it may leave undecided what is within here"), std::string::npos);
    EXPECT_NE(part.find("Limits: misses 5.0"), std::string::npos);
}

TEST(LivePart, SaysWhatToDoWhereNoSeedFalls) {
    ScreenModel model;
    model.units.push_back(unit_with({}));
    model.units.front().dry = 42;
    EXPECT_NE(live_part(model).find("no seed for 42 drops: look at its hopper"), std::string::npos);
    model.units.front().dry = 29;
    EXPECT_EQ(live_part(model).find("hopper"), std::string::npos);
}
