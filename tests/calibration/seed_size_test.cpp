#include "calibration/record/seed_size.hpp"

#include "calibration/record/applied.hpp"
#include "calibration/record/choice.hpp"

#include <gtest/gtest.h>

#include <cmath>

using namespace dropledger;
using namespace dropledger::calibration;
using statistics::Interval;

namespace {

droplog::Header header_of(const std::string& crop, const std::string& mass_mg) {
    droplog::Header header;
    header.started = "2026-03-01T08:00:00Z";
    if (!crop.empty())
        header.run["crop"] = crop;
    if (!mass_mg.empty())
        header.run["thousand_seed_mass_mg"] = mass_mg;
    return header;
}

Record record_for(Interval mm) {
    Record record;
    record.id = "CAL-9";
    record.date = "2026-01-02";
    record.expires = "2026-12-31";
    record.holds_for.seed_mm = mm;
    record.efficiency = statistics::Estimate{0.98, Interval{0.97, 0.99}, Confidence{0.95}, "test"};
    return record;
}

Result<audit::Calibrated> applied(const Record& record, const droplog::Header& header,
                                  bool anyway = false) {
    ledger::RunSetup setup;
    ledger::ChannelSetup channel;
    channel.gates.push_back({.number = 1, .seeds_in_pulse = {}});
    setup.channels.emplace(0, channel);
    return applying({record}, {.anyway = anyway, .today = "2026-03-01"})(header, setup);
}

} // namespace

// By hand, from calibration/crops/chicory.toml: 1.2 mm at 1.2 g a thousand, 1.9 mm at 1.7 g.
TEST(SeedSize, GrowsWithTheCubeRootOfMass) {
    const LotSize lot = lot_size(header_of("chicory", "1500"));
    ASSERT_TRUE(lot.mm) << lot.words;
    EXPECT_NEAR(lot.mm->low, 1.2 * std::cbrt(1.5 / 1.2), 1e-9);
    EXPECT_NEAR(lot.mm->high, 1.9 * std::cbrt(1.5 / 1.7), 1e-9);
    // eight times the mass, twice the size
    const LotSize heavy = lot_size(header_of("chicory", "12000"));
    EXPECT_NEAR(heavy.mm->low, 2.0 * lot.mm->low, 1e-9);
    // natural beet has no diameter: a ball of length times width times thickness
    EXPECT_NEAR(lot_size(header_of("sugar beet", "13000")).mm->high,
                std::cbrt(5.3 * 4.36 * 2.38 * 13.0 / 13.41), 0.1);
}

TEST(SeedSize, SaysWhyItIsNotKnown) {
    for (const auto& [crop, mass, why] :
         {std::tuple{"", "1500", "no crop"}, std::tuple{"chicory", "", "no thousand-seed mass"},
          std::tuple{"chicory", "0", "no thousand-seed mass"},
          std::tuple{"red beet", "15000", "no mass and size"},
          std::tuple{"teasel", "3000", "no mass and size"}}) {
        const LotSize lot = lot_size(header_of(crop, mass));
        EXPECT_FALSE(lot.mm);
        EXPECT_NE(lot.words.find(why), std::string::npos) << lot.words;
    }
}

TEST(SeedSize, FitsInsidePartlyOutsideOrNobodyKnows) {
    const LotSize lot{Interval{1.3, 1.8}, {}};
    EXPECT_EQ(size_fit({1.0, 2.0}, lot), SizeFit::inside);
    EXPECT_EQ(size_fit({1.5, 2.0}, lot), SizeFit::partly);
    EXPECT_EQ(size_fit({2.0, 4.0}, lot), SizeFit::outside);
    EXPECT_EQ(size_fit({0.5, 1.2}, lot), SizeFit::outside);
    EXPECT_EQ(size_fit({0.5, 1.2}, {}), SizeFit::unknown);
}

TEST(SeedSize, MakesACalibrationForAnotherSizeForeign) {
    const droplog::Header chicory = header_of("chicory", "1500");
    const auto refused = applied(record_for({3.0, 5.0}), chicory);
    ASSERT_FALSE(refused);
    EXPECT_NE(refused.error().what.find("seed of 3 to 5 mm"), std::string::npos)
        << refused.error().what;
    const auto told = applied(record_for({3.0, 5.0}), chicory, true);
    ASSERT_TRUE(told);
    EXPECT_NE(told->notes[1].find("foreign"), std::string::npos);
    EXPECT_EQ(applied(record_for({1.0, 2.0}), chicory)->notes.size(), 1U);
    EXPECT_NE(applied(record_for({1.5, 2.0}), chicory)->notes.back().find("in part outside"),
              std::string::npos);
    EXPECT_NE(applied(record_for({1.0, 2.0}), header_of("chicory", ""))
                  ->notes.back()
                  .find("can't be checked"),
              std::string::npos);
}

TEST(SeedSize, KeepsTheBookFromChoosingACalibrationForAnotherSize) {
    GateOfRun wanted;
    wanted.day = "2026-03-01";
    wanted.seed_mm = Interval{1.3, 1.8};
    EXPECT_TRUE(chosen({record_for({3.0, 5.0})}, wanted).empty());
    EXPECT_EQ(chosen({record_for({1.5, 5.0})}, wanted).size(), 1U);
    wanted.seed_mm.reset();
    EXPECT_EQ(chosen({record_for({3.0, 5.0})}, wanted).size(), 1U);
}
