#include "bench/station/farmer/table_look.hpp"
#include "tests/bench/io/temporary_folder.hpp"

#include <gtest/gtest.h>

using namespace dropledger;
using namespace dropledger::station;

namespace {

TableLook looked_at(const std::string& content) {
    const files::TemporaryFolder folder;
    files::put_content(folder / "night.csv", content);
    const auto look = look_at(folder / "night.csv", std::nullopt);
    EXPECT_TRUE(look) << (look ? "" : look.error().message());
    return look ? *look : TableLook{};
}

const std::string names = "time,pass,row,drop,lat,lon,target,seen\n";

} // namespace

TEST(ATableLookedAt, FindsItsNamesBelowTitlesThatHaveOtherSeparators) {
    const TableLook look = looked_at("Machine 7, field \"north\", 3 rows, April\n\nZeit;Spur;Ost\n"
                                     "22:00:01;1;432000,5\n22:00:02;1;432000,7\n");
    EXPECT_EQ(look.separator, ';');
    EXPECT_EQ(look.columns, (std::vector<std::string>{"Zeit", "Spur", "Ost"}));
    EXPECT_EQ(look.values("Ost"), (std::vector<std::string>{"432000,5", "432000,7"}));
    EXPECT_EQ(look.file, "night.csv");
}

TEST(ATableLookedAt, IsReadInUtf16) {
    std::string wide = "\xFF\xFE";
    for (const char c : std::string("pass\tseen\n1\t0\n2\t1\n"))
        wide += {c, '\0'};
    const TableLook look = looked_at(wide);
    EXPECT_EQ(look.separator, '\t');
    EXPECT_EQ(look.columns, (std::vector<std::string>{"pass", "seen"}));
    EXPECT_EQ(look.rows.size(), 2U);
}

TEST(ATableLookedAt, TakesNamesForNamesWhereEachHoldsANumber) {
    EXPECT_EQ(looked_at("1,2,3\n4,5,6\n").columns, (std::vector<std::string>{"1", "2", "3"}));
}

TEST(ATableLookedAt, HasNoColumnsWhereItIsEmpty) {
    EXPECT_TRUE(looked_at("").columns.empty());
    EXPECT_FALSE(look_at("/no/such.csv", std::nullopt));
}

TEST(ATableRead, ShowsTimesAndPlacesAsTheReportsDo) {
    const TableLook look = looked_at(names + "2026-05-03 08:12:07,1,2,3,-33.5,-70.25,1,0\n");
    const auto reading = read_as(look, field::Mapping{});
    ASSERT_TRUE(reading);
    const ReadRow* const row = reading->first_good();
    ASSERT_NE(row, nullptr);
    EXPECT_EQ(reading->time_of(*row), "2026-05-03 08:12:07");
    EXPECT_EQ(reading->place_of(*row), "33.500000° S, 70.250000° W");
    EXPECT_EQ(row->drop.seen, 0U);
    EXPECT_EQ(row->pass, "1");
}

TEST(ATableRead, SaysOfATimeWhatItIsNot) {
    const auto time = [](const std::string& text) {
        const auto reading =
            read_as(looked_at(names + text + ",1,2,3,52,10,1,1\n"), field::Mapping{});
        EXPECT_TRUE(reading);
        return reading->time_of(reading->rows.front());
    };
    EXPECT_EQ(time("22:15:03"), "22:15:03, no date");
    EXPECT_EQ(time("soon"), "can't be read");
    EXPECT_EQ(time("46126.5"), "no time of our day"); // days, taken for seconds since 1970
    EXPECT_EQ(time("1776197523"), "2026-04-14 20:12:03Z");
}

TEST(ATableRead, CountsWhatIsKeptOutAndSaysWhy) {
    const TableLook look =
        looked_at(names + "1776197523,1,2,3,52,10,1,?\n1776197523,1,2,4,52,10,1,1\n");
    const auto reading = read_as(look, field::Mapping{});
    ASSERT_TRUE(reading);
    EXPECT_EQ(reading->kept_out, 1);
    EXPECT_EQ(reading->rows.front().reason, "seen '?' is blank");
    EXPECT_EQ(reading->first_good()->drop.drop, 4);
}

TEST(ATableRead, HasNoHalfRowWhereItIsLongerThanWhatIsLookedAt) {
    std::string text = names;
    while (text.size() < looked_at_bytes + 1000)
        text += "1776197523,1,2,3,52.0000001,10.0000001,1,1\n";
    const TableLook look = looked_at(text);
    EXPECT_FALSE(look.is_whole);
    const auto reading = read_as(look, field::Mapping{});
    ASSERT_TRUE(reading);
    EXPECT_GT(reading->rows.size(), 5000U);
    EXPECT_EQ(reading->kept_out, 0);
}
