// Tables whose drop numbers lack, by a maker that knows which drops it left out and which numbers its
// machine never gave.
#include "analysis/field/audit.hpp"
#include "analysis/report/html/field_page.hpp"
#include "analysis/report/json/field_json.hpp"
#include "analysis/report/text/field_text.hpp"

#include <fmt/format.h>
#include <gtest/gtest.h>
#include <nlohmann/json.hpp>

#include <cmath>
#include <functional>
#include <random>
#include <set>
#include <string>
#include <vector>

namespace dropledger::field {
namespace {

struct Made {
    std::int64_t pass = 0;
    std::int64_t row = 0;
    std::int64_t place = 0; // along the pass, in drops
};

struct Machine {
    std::int64_t passes = 3;
    std::int64_t rows = 4;
    std::int64_t drops = 300;
    double noise_m = 0.0;
    double place_step_m = 0.0; // coarse places
    std::function<std::int64_t(const Made&)> number = [](const Made& made) { return made.place; };
    std::function<bool(const Made&)> is_left_out = [](const Made&) { return false; };
    std::function<bool(const Made&)> is_tramline = [](const Made&) { return false; };
    std::function<double(std::int64_t)> travel_m = [](std::int64_t place) {
        return 0.2 * static_cast<double>(place);
    };
};

struct Written {
    std::string text = "time,pass,row,drop,east_m,north_m,target,seen,alert\n";
    std::int64_t left_out = 0; // but for the ends of a pass, of which numbers tell nothing
};

std::string line_of(const Machine& machine, const Made& made, std::mt19937& chance) {
    std::normal_distribution<double> scatter(0.0, 1.0);
    const auto placed = [&](double at_m) {
        const double read = at_m + machine.noise_m * scatter(chance);
        return machine.place_step_m > 0.0
                   ? machine.place_step_m * std::round(read / machine.place_step_m)
                   : read;
    };
    const double time_s =
        1.7e9 + 4000.0 * static_cast<double>(made.pass) + 0.4 * static_cast<double>(made.place);
    const bool silent = (made.place * 7 + made.row) % 97 == 0;
    const double across_m =
        3.0 * static_cast<double>(made.pass) + 0.5 * static_cast<double>(made.row);
    return fmt::format("{:.1f},{},{},{},{:.3f},{:.3f},{},{},0\n", time_s, made.pass, made.row,
                       machine.number(made), placed(across_m), placed(machine.travel_m(made.place)),
                       machine.is_tramline(made) ? 0 : 1, silent ? 0 : 1);
}

Written written(const Machine& machine) {
    Written out;
    std::mt19937 chance(11);
    for (std::int64_t pass = 1; pass <= machine.passes; ++pass)
        for (std::int64_t place = 0; place < machine.drops; ++place)
            for (std::int64_t row = 1; row <= machine.rows; ++row) {
                const Made made{pass, row, place};
                const bool at_end = place == 0 || place + 1 == machine.drops;
                if (machine.is_left_out(made) && !at_end)
                    ++out.left_out;
                else
                    out.text += line_of(machine, made, chance);
            }
    return out;
}

FieldAudit audited(const std::string& text, const Answers& answers = {}) {
    StringSource source(text);
    auto field = read_field({{&source, "night.csv"}}, {}, answers);
    EXPECT_TRUE(field) << (field ? "" : field.error().message());
    return audit_field(*std::move(field), {});
}

std::int64_t lost(const FieldAudit& audit) {
    std::int64_t sum = 0;
    for (const auto& [key, count] : audit.field.lost)
        sum += count;
    return sum;
}

Answers lacking_are(Means means, std::set<std::string> accepted = {}) {
    Answers answers;
    answers.lacking_drops = means;
    answers.accepted = std::move(accepted);
    return answers;
}

const Answers holes_are_holes = lacking_are(Means::unknown);

bool every_tenth_line(const Made& made) {
    return (made.place * 3 + made.row + made.pass) % 10 == 0;
}

} // namespace

TEST(LostRows, AreCountedAndSaidOnTheFirstScreenOfTextPageAndJson) {
    const Written table = written({.is_left_out = every_tenth_line});
    const FieldAudit audit = audited(table.text, holes_are_holes);
    ASSERT_GT(table.left_out, 300);
    EXPECT_EQ(lost(audit), table.left_out);
    const std::string said =
        fmt::format("By their numbers {} of 3,600 drops are not in the table, in all 3 passes and "
                    "all 4 rows",
                    table.left_out);
    EXPECT_EQ(audit.lacking.substr(0, said.size()), said);
    EXPECT_NE(audit.lacking.find("Export the table again"), std::string::npos);
    const std::string text = report::field::to_text(audit);
    EXPECT_LT(text.find(audit.lacking), text.find("What the table holds"));
    const std::string page = report::field::to_html(audit);
    EXPECT_LT(page.find(audit.lacking), page.find("<ul"));
    const auto json = nlohmann::json::parse(report::field::to_json(audit));
    EXPECT_EQ(json["notes"].front(), audit.lacking);
    EXPECT_EQ(text.find("passed over"), std::string::npos) << "said once";
}

TEST(LostRows, KeepANightFromNeedingNothing) {
    const Written table = written({.is_left_out = every_tenth_line});
    const std::string text = report::field::to_text(audited(table.text, holes_are_holes));
    EXPECT_EQ(text.find("Nothing needs doing"), std::string::npos) << text.substr(0, 300);
    EXPECT_NE(report::field::to_text(audited(written({}).text)).find("Nothing needs doing"),
              std::string::npos);
}

TEST(LostRows, AreNamedByPassAndRowWhereTheyAreOfOne) {
    const Written table = written({.is_left_out = [](const Made& made) {
        return made.pass == 2 && made.row == 3 && made.place >= 100 && made.place < 140;
    }});
    const FieldAudit audit = audited(table.text, holes_are_holes);
    EXPECT_EQ(audit.lacking.rfind("By their numbers 40 of 3,600 drops are not in the table, in "
                                  "pass 2 and row 3:",
                                  0),
              0U)
        << audit.lacking;
}

TEST(LostRows, AreToldFromLinesThatCouldNotBeRead) {
    Written table = written({.is_left_out = [](const Made& made) {
        return made.pass == 2 && made.row == 3 && made.place == 100;
    }});
    table.text += "1.7e9,1,1,7000,x,y,1,1,0\n";
    const FieldAudit audit = audited(table.text, holes_are_holes);
    EXPECT_NE(audit.lacking.find("1 of 3,600 drops is not in the table or stand in its lines"),
              std::string::npos)
        << audit.lacking;
}

TEST(LostRows, AreCountedThroughScatterCoarsePlacesAndSpacingsThatChange) {
    for (const double noise_m : {0.01, 0.02}) {
        const Written table = written({.noise_m = noise_m, .is_left_out = every_tenth_line});
        EXPECT_EQ(lost(audited(table.text, holes_are_holes)), table.left_out) << noise_m;
    }
    const auto two_spacings = [](std::int64_t place) {
        return place < 150 ? 0.1 * static_cast<double>(place)
                           : 15.0 + 0.25 * static_cast<double>(place - 150);
    };
    const Written changed = written({.is_left_out = every_tenth_line, .travel_m = two_spacings});
    EXPECT_NEAR(static_cast<double>(lost(audited(changed.text, holes_are_holes))),
                static_cast<double>(changed.left_out), 4.0)
        << "but for holes at the very change";
    const Answers coarse = lacking_are(Means::unknown, {"coarse-places"});
    const Written rounded = written({.place_step_m = 1.0, .is_left_out = every_tenth_line});
    EXPECT_EQ(lost(audited(rounded.text, coarse)), rounded.left_out);
}

TEST(LostRows, OfEverySecondDropOfOneRowShowByTheOtherRows) {
    const Written table = written(
        {.is_left_out = [](const Made& made) { return made.row == 4 && made.place % 2 == 1; }});
    EXPECT_EQ(lost(audited(table.text, holes_are_holes)), table.left_out);
}

// Nothing of these is lost: the machine never gave the numbers that lack.
struct Fooled {
    const char* name;
    Machine machine;
    Answers answers = holes_are_holes;
};
class NumbersThatNoDropHad : public testing::TestWithParam<Fooled> {};

TEST_P(NumbersThatNoDropHad, AreNotCalledLost) {
    const Written table = written(GetParam().machine);
    ASSERT_EQ(table.left_out, 0);
    const FieldAudit audit = audited(table.text, GetParam().answers);
    EXPECT_EQ(audit.lacking, "");
}

INSTANTIATE_TEST_SUITE_P(
    Of, NumbersThatNoDropHad,
    testing::Values(
        Fooled{"ARowThatIsWhole", {}, {}},
        Fooled{"ACounterOfAllRows",
               {.number = [](const Made& made) { return made.place * 4 + made.row; }}},
        Fooled{"ACounterOfAFewDropsOfAllRows",
               {.passes = 1,
                .rows = 2,
                .drops = 9,
                .number = [](const Made& made) { return made.place * 2 + made.row; }},
               {}},
        Fooled{"ACounterSharedWithARowOfHalfTheDrops",
               {.rows = 1, .number = [](const Made& made) { return made.place * 3 / 2; }}},
        Fooled{"ACounterThatJumps",
               {.number =
                    [](const Made& made) {
                        return made.place < 120 ? made.place : made.place + 5000;
                    }}},
        Fooled{"ACounterThatJumpsByOne",
               {.number = [](const Made& made) { return made.place + made.place / 60; }}},
        Fooled{"ACounterThatBeginsAnewWithinAPass",
               {.passes = 5,
                .number =
                    [](const Made& made) {
                        const bool before = made.pass != 2 || made.place < 120;
                        return before ? made.place + 400 : made.place - 120;
                    }}},
        Fooled{"ACounterOfTheWholeNight",
               {.number = [](const Made& made) { return made.place + 1000 * made.pass; }}},
        Fooled{"ACounterAgainstTheWayDriven",
               {.number = [](const Made& made) { return 1000 - made.place; }},
               lacking_are(Means::ask, {"times"})},
        Fooled{"TramlinesThatCommandNoSeed",
               {.is_tramline =
                    [](const Made& made) { return made.row == 2 && made.place % 50 > 30; }}},
        Fooled{"LackingDropsThatCountAsSilent",
               {.number = [](const Made& made) { return made.place + made.place / 60; }},
               lacking_are(Means::silent)}),
    [](const auto& one) { return std::string(one.param.name); });

TEST(NumbersThatWerePassedOver, AreToldWithWhatTheTableHolds) {
    const Written table = written({.number = [](const Made& made) {
        return made.place < 120 ? made.place : made.place + 5000;
    }});
    const std::string text = report::field::to_text(audited(table.text, holes_are_holes));
    EXPECT_NE(text.find("60,000 drop numbers were passed over"), std::string::npos)
        << text.substr(0, 900);
}

} // namespace dropledger::field
