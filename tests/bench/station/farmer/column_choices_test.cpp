#include "bench/station/farmer/column_choices.hpp"
#include "tests/bench/io/temporary_folder.hpp"

#include <gtest/gtest.h>

#include <set>

using namespace dropledger;
using namespace dropledger::station;

namespace {

TableLook looked_at(const std::string& content) {
    const files::TemporaryFolder folder;
    files::put_content(folder / "night.csv", content);
    const auto look = look_at(folder / "night.csv", std::nullopt);
    EXPECT_TRUE(look);
    return look ? *look : TableLook{};
}

// One row below its names: time, a place in metres, an error.
TableLook abroad(const std::string& time, const std::string& error = "0,12") {
    return looked_at("Zeit\tSpur\tReihe\tNr\tOst\tNord\tSoll\tIst\tAbweichung\n" + time +
                     "\t1\t2\t3\t432000,5\t5761000,25\t1\t0\t" + error + "\n");
}

TableLook at_home(const std::string& time, const std::string& lat = "52.1") {
    return looked_at("time,pass,row,drop,lat,lon,target,seen\n" + time + ",1,2,3," + lat +
                     ",10.5,1,0\n");
}

using Names = std::vector<std::string>;

std::string time_of(const TableLook& look, const Choices& choices) {
    const auto reading = read_as(look, choices);
    EXPECT_TRUE(reading) << (reading ? "" : reading.error().message());
    return reading ? reading->time_of(reading->rows.front()) : "";
}

} // namespace

TEST(GuessedColumns, AreFoundByTheirMeaning) {
    const Choices guess = Choices::guessed(abroad("2026-04-14 22:00:00"));
    for (const auto& [ours, theirs] : {std::pair{"time", "Zeit"},
                                       {"pass", "Spur"},
                                       {"row", "Reihe"},
                                       {"drop", "Nr"},
                                       {"east_m", "Ost"},
                                       {"north_m", "Nord"},
                                       {"target", "Soll"},
                                       {"seen", "Ist"},
                                       {"offset_mm", "Abweichung"},
                                       {"lat", ""},
                                       {"alert", ""},
                                       {"field", ""}})
        EXPECT_EQ(guess.of(ours), theirs) << ours;
}

TEST(GuessedColumns, MeanOneThingEach) {
    const Choices guess = Choices::guessed(looked_at("pass,rows,row,lat,lon\n1,8,2,52,10\n"));
    EXPECT_EQ(guess.of("row"), "row");
    std::set<std::string> taken;
    for (const std::string_view ours : field::column_names) {
        const std::string theirs = guess.of(ours);
        EXPECT_TRUE(theirs.empty() || taken.insert(theirs).second) << theirs;
    }
}

TEST(GuessedColumns, TakeAUnitFromAName) {
    const Choices guess = Choices::guessed(
        looked_at("time_ms,pass,row,drop,Easting [cm],Northing (ft),target,seen,error [cm]\n"
                  "12,1,2,3,4,5,1,0,0.5\n"));
    EXPECT_EQ(guess.of("east_m"), "Easting [cm]");
    EXPECT_EQ(guess.of(unit_of("east_m")), "cm");
    EXPECT_EQ(guess.of(unit_of("north_m")), "ft");
    EXPECT_EQ(guess.of(unit_of("offset_mm")), "cm");
    EXPECT_EQ(guess.of(unit_of("time")), "ms");
}

TEST(GuessedColumns, TellTenMillionthsOfADegreeByTheirSize) {
    EXPECT_EQ(Choices::guessed(at_home("1", "521000000")).of(unit_of("lat")), "1e-7deg");
    EXPECT_EQ(Choices::guessed(at_home("1", "52.1")).of(unit_of("lat")), "");
}

TEST(WhatATableCannotDecide, IsAskedFor) {
    EXPECT_EQ(Choices::guessed(abroad("3/4/2026 22:00:00", "0,123"))
                  .lacking(abroad("3/4/2026 22:00:00", "0,123")),
              (Names{"unit-offset_mm", "unit-east_m", "unit-north_m", "system", "date-order"}));
    EXPECT_EQ(Choices::guessed(at_home("03-04-2026 22:00")).lacking(at_home("03-04-2026 22:00")),
              Names{"date-order"});
    for (const char* const counted : {"46126.9", "12345", "8123456789"}) {
        const TableLook look =
            at_home(counted); // days, seconds of the night, microseconds since the start
        EXPECT_EQ(Choices::guessed(look).lacking(look), Names{"unit-time"}) << counted;
    }
}

TEST(WhatATableCannotDecide, IsNotAskedForWhereOneRowShowsIt) {
    const TableLook look = looked_at("time,pass,row,drop,lat,lon,target,seen\n"
                                     "4/3/2026 23:59:58,1,1,1,52,10,1,1\n"
                                     "4/13/2026 00:00:01,1,1,2,52,10,1,1\n");
    const Choices guess = Choices::guessed(look);
    EXPECT_EQ(guess.of(choice::date_order), "month");
    EXPECT_EQ(guess.lacking(look), Names{});
    EXPECT_EQ(time_of(look, guess), "2026-04-03 23:59:58"); // of the row before, too
}

TEST(WhatATableCannotDecide, IsNotAskedForInATableThatSaysAll) {
    for (const char* const time :
         {"2026-04-14T22:00:00Z", "1776197523", "1776197523000", "14.04.2026 22:00:00", "22:00:00"})
        EXPECT_EQ(Choices::guessed(at_home(time)).lacking(at_home(time)), Names{}) << time;
}

TEST(WhatATableCannotDecide, HoldsForCommasThatMayBeThousands) {
    const std::string head = "time\tpass\trow\tdrop\tlat\tlon\ttarget\tseen\n1776197523\t1\t2\t";
    const TableLook open = looked_at(head + "1,234\t52.1\t10.2\t1\t0\n");
    EXPECT_EQ(Choices::guessed(open).lacking(open), Names{"decimal-comma"});
    const TableLook plain = looked_at(head + "1,234\t52,1234\t10,2\t1\t0\n");
    EXPECT_EQ(Choices::guessed(plain).of(choice::decimal_comma), "yes");
    EXPECT_EQ(Choices::guessed(plain).lacking(plain), Names{});
}

TEST(EachChoice, MakesOfATimeWhatItSays) {
    const TableLook slash = at_home("3/4/2026 08:12:07");
    const Choices guess = Choices::guessed(slash);
    EXPECT_EQ(time_of(slash, guess.with(choice::date_order, "day")), "2026-04-03 08:12:07");
    EXPECT_EQ(time_of(slash, guess.with(choice::date_order, "month")), "2026-03-04 08:12:07");
    EXPECT_EQ(time_of(slash, guess.with(choice::date_order, "day").with(choice::utc_offset, "120")),
              "2026-04-03 08:12:07+02:00");
    const TableLook days = at_home("46126.5");
    EXPECT_EQ(time_of(days, Choices::guessed(days).with(unit_of("time"), "day")),
              "2026-04-14 12:00:00");
}

TEST(EachChoice, MakesOfAPlaceWhatItSays) {
    const TableLook look = abroad("2026-04-14 22:00:00");
    const Choices metres = Choices::guessed(look)
                               .with(unit_of("east_m"), "m")
                               .with(unit_of("north_m"), "m")
                               .with(unit_of("offset_mm"), "cm");
    const auto plane = read_as(look, metres.with(choice::system, "plane"));
    ASSERT_TRUE(plane);
    EXPECT_EQ(plane->place_of(plane->rows.front()), "432000.50 m east, 5761000.25 m north");
    EXPECT_FLOAT_EQ(plane->rows.front().drop.offset_mm, 1.2F);
    const auto utm =
        read_as(look, metres.with(choice::system, "utm").with(choice::utm_zone, "32N"));
    ASSERT_TRUE(utm);
    EXPECT_TRUE(utm->geographic);
    EXPECT_NEAR(utm->rows.front().drop.at.x, 8.0096, 1e-3); // west of the zone's middle, 9 degrees
    EXPECT_FALSE(read_as(look, metres.with(choice::system, "utm").with(choice::utm_zone, "77")));
}

TEST(AColumnThatIsSaidNotToBeThere, IsLeftOutEvenWhereItHasOurName) {
    const TableLook look = looked_at("time,pass,row,drop,lat,lon,target,seen,field\n"
                                     "1776197523,1,2,3,52,10,1,0,v7\n");
    const auto reading = read_as(look, Choices::guessed(look).with("field", ""));
    ASSERT_TRUE(reading);
    EXPECT_FALSE(reading->has_fields);
}

TEST(WhatWasSaid, ComesBackFromItsFile) {
    const TableLook look = abroad("3/4/2026 22:00:00");
    const Choices said = Choices::guessed(look)
                             .with(unit_of("east_m"), "ft")
                             .with(unit_of("north_m"), "m")
                             .with(unit_of("offset_mm"), "cm")
                             .with(choice::date_order, "month")
                             .with(choice::system, "utm")
                             .with(choice::utm_zone, "32N")
                             .with(choice::time_zone, "Europe/Berlin");
    const auto mapping = field::parse_mapping(said.text(look), "x");
    ASSERT_TRUE(mapping) << mapping.error().message();
    const auto back = Choices::remembered(*mapping, look);
    ASSERT_TRUE(back);
    EXPECT_EQ(back->text(look), said.with(choice::separator, "\t").text(look) /* now it is said */);
    EXPECT_EQ(back->lacking(look), Names{});
}

TEST(WhatWasSaid, IsNotTakenForATableWithOtherColumns) {
    const TableLook look = abroad("3/4/2026 22:00:00");
    const auto mapping = field::parse_mapping(Choices::guessed(look).text(look), "x");
    ASSERT_TRUE(mapping);
    EXPECT_FALSE(Choices::remembered(*mapping, at_home("3/4/2026 22:00:00")));
}

TEST(WhatWasSaid, LeavesAskedForWhatItDidNotSay) {
    const TableLook look = at_home("3/4/2026 22:00:00");
    const auto back = Choices::remembered(field::Mapping{}, look);
    ASSERT_TRUE(back);
    EXPECT_EQ(back->lacking(look), Names{"date-order"});
}

TEST(WhatAFormSays, CannotBreakOutOfTheFile) {
    const TableLook look = at_home("1776197523");
    const Choices said = Choices::guessed(look).with("alert", "x\"\n[units]\ntime = \"day");
    const auto mapping = field::parse_mapping(said.text(look), "x");
    ASSERT_TRUE(mapping);
    EXPECT_EQ(mapping->factors.front(), 1.0);
}
