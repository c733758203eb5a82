#include "analysis/audit/spacings.hpp"
#include "analysis/base/readers/open_string.hpp"

#include <gtest/gtest.h>

#include <string>
#include <vector>

using namespace dropledger;
using namespace dropledger::audit;

namespace {

Result<AuditReport> audited(const std::string& text,
                            std::optional<std::int64_t> spacing_um = 180'000,
                            const ChooseProfile& choose = {}) {
    AuditOptions options;
    options.file = "tape.csv";
    options.choose_profile = choose;
    options.overrides.spacing_um = spacing_um;
    return audit_spacings(open_string(text), options);
}

ChooseProfile profile_for(ledger::Mode mode) {
    return [mode](const droplog::Header&, ledger::Mode) -> Result<ProfileChoice> {
        return ProfileChoice{verdict::no_profile(mode), ""};
    };
}

} // namespace

TEST(AuditSpacings, ReadsSpacingsAndPositionsAlike) {
    const auto spacings = audited("# by tape\nspacing_mm\n180\n90.0\n\n270.001\r\n");
    const auto positions = audited("\xEF\xBB\xBFposition_mm\n1000\n1180\n1270\n1540.001\n");
    ASSERT_TRUE(spacings);
    ASSERT_TRUE(positions);
    EXPECT_EQ(spacings->channels[0].spacing()->counts.classes,
              (std::array<std::int64_t, 5>{1, 1, 1, 0, 0}));
    EXPECT_EQ(positions->channels[0].spacing()->counts.classes,
              spacings->channels[0].spacing()->counts.classes);
    EXPECT_EQ(spacings->channels[0].drops(), nullptr);
    EXPECT_TRUE(spacings->from_spacings);
    const auto centimetres = audited("spacing_cm\n18\n9.0\n\n27.0001\n");
    ASSERT_TRUE(centimetres);
    EXPECT_EQ(centimetres->channels[0].spacing()->counts.classes,
              spacings->channels[0].spacing()->counts.classes);
}

TEST(AuditSpacings, RefusesWhatIsNoListByFileLineAndField) {
    for (const auto& [text, where] :
         std::vector<std::pair<std::string, std::string>>{{"distance\n1\n", "tape.csv:1"},
                                                          {"spacing_mm\n180\nwide\n", "tape.csv:3"},
                                                          {"spacing_mm\n180,190\n", "tape.csv:2"},
                                                          {"spacing_mm\n-1\n", "tape.csv:2"},
                                                          {"spacing_mm\nnan\n", "tape.csv:2"},
                                                          {"position_mm\n5\n4\n", "tape.csv:3"},
                                                          {"position_mm\n5\n", "tape.csv"},
                                                          {"", "tape.csv"}}) {
        const auto report = audited(text);
        ASSERT_FALSE(report) << text;
        EXPECT_EQ(report.error().where.rfind(where, 0), 0U) << text << report.error().where;
    }
}

TEST(AuditSpacings, NeedsATheoreticalSpacing) {
    EXPECT_FALSE(audited("spacing_mm\n180\n", std::nullopt));
    EXPECT_FALSE(audited("spacing_mm\n180\n", 0));
    EXPECT_FALSE(audited("spacing_mm\n180\n", -5));
}

TEST(AuditSpacings, RefusesAProfileForAnotherMode) {
    EXPECT_TRUE(audited("spacing_mm\n180\n", 180'000, profile_for(ledger::Mode::single)));
    EXPECT_FALSE(audited("spacing_mm\n180\n", 180'000, profile_for(ledger::Mode::portion)));
}

// A list in centimetres is no unit that doubles every seed.
TEST(AuditSpacings, NoticesAListInAnotherUnit) {
    std::string text = "spacing_mm\n";
    for (int i = 0; i < 300; ++i)
        text += i % 2 == 0 ? "17.6\n" : "18.3\n";
    const ChooseProfile limited = [](const droplog::Header&, ledger::Mode) {
        ProfileChoice choice{verdict::no_profile(ledger::Mode::single), ""};
        choice.profile.limits = {{measures::Quantity::multiples_index, 0.05},
                                 {measures::Quantity::misses, 0.05}};
        return Result<ProfileChoice>{choice};
    };
    const auto report = audited(text, 180'000, limited);
    ASSERT_TRUE(report);
    ASSERT_EQ(report->contradictions.size(), 1U);
    EXPECT_EQ(report->contradictions.front().kind, Contradiction::order_not_carried_out);
    EXPECT_EQ(report->outcome, verdict::Outcome::undecided);
    EXPECT_TRUE(audited(text, 18'000, limited)->contradictions.empty());
}
