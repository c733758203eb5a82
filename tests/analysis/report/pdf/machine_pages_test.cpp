#include "analysis/report/pdf/machine_pages.hpp"

#include "analysis/report/pdf/pages.hpp"
#include "analysis/report/words/machine_sheet.hpp"
#include "tests/analysis/audit/sample.hpp"

#include <gtest/gtest.h>

namespace dropledger::report::certificate {

namespace {

int pages_of(const std::string& pdf) {
    const std::size_t at = pdf.find("/Count ");
    return at == std::string::npos ? 0 : std::stoi(pdf.substr(at + 7));
}

std::string pdf_of(int units, ledger::Mode mode) {
    const auto sheet =
        machine_sheet(audit::sample::report_of({.mode = mode, .channels = units, .drops = 150}));
    return to_pdf(sheet.value(), "dropledger", "2026-01-05T08:00:00Z");
}

class SheetOfEveryMode : public testing::TestWithParam<ledger::Mode> {};

INSTANTIATE_TEST_SUITE_P(MachinePages, SheetOfEveryMode,
                         testing::Values(ledger::Mode::single, ledger::Mode::portion,
                                         ledger::Mode::line),
                         [](const auto& param) {
                             return std::string(ledger::name_of(param.param));
                         });

TEST_P(SheetOfEveryMode, IsOnePageForOneUnitForSixAndForSixteenThatAllHaveACause) {
    ASSERT_TRUE(can_draw());
    for (const int units : {1, 6, 16})
        EXPECT_EQ(pages_of(pdf_of(units, GetParam())), 1) << units;
}

TEST(MachinePages, AreTheSameBytesEveryTime) {
    EXPECT_EQ(pdf_of(2, ledger::Mode::single), pdf_of(2, ledger::Mode::single));
}

} // namespace

} // namespace dropledger::report::certificate
