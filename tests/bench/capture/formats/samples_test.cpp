#include "bench/capture/formats/samples.hpp"

#include "analysis/base/readers/open_string.hpp"
#include "tests/bench/capture/formats/a_capture.hpp"

#include <gtest/gtest.h>

namespace dropledger::capture {
namespace {

const std::vector<std::string> wires{"D0", "D1"};

Result<Extent> read(const std::string& text, std::optional<double> rate_hz, Told& told) {
    return read_samples(open_string(text), "run.csv", wires, rate_hz, told);
}

const std::vector<Told::Row> expected{{0, 0, false},
                                      {0, 1, true},
                                      {5 * ps_per_us, 0, true},
                                      {9 * ps_per_us, 0, false},
                                      {9 * ps_per_us, 1, false}};

TEST(Samples, ReadsEveryFormThatInstrumentsExport) {
    const std::vector<std::string> forms{
        "time,D0,D1\n0,0,1\n0.000005,1,1\n0.000009,0,0\n",
        "Time [us],D1,other,D0\n100,1,0,0\n103,1,1,0\n105,1,0,1\n109,0,0,0\n",
        "\xEF\xBB\xBFTime(ms);D0;D1\r\n-0,005;0;1\r\n0;1;1\r\n0,004;0;0\r\n",
        "t_ns\tD0\tD1\n0\t0\t1\n5000\t1\t1\n9000\t0\t0\n",
        "; made by an instrument, with D0 and D1\nMETA rate: 1\n\"Time\", \"D0\", "
        "\"D1\"\n0,0,1\n5e-6,1,1\n9e-6,0,0\n",
        "time_us,signal,level\n0,D0,0\n0,D1,1\n5,D0,1\n7,spare,1\n9,D0,0\n9,D1,0\n",
    };
    for (const std::string& form : forms) {
        Told told;
        const auto found = read(form, std::nullopt, told);
        ASSERT_TRUE(found) << form << found.error().message();
        EXPECT_EQ(told.rows, expected) << form;
    }
}

TEST(Samples, CountsRowsWhereThereAreNoTimes) {
    std::string text = "D0,D1\n";
    for (int sample = 0; sample < 12; ++sample)
        text += sample < 5 ? "0,1\n" : sample < 9 ? "1,1\n" : "0,0\n";
    Told told;
    const auto found = read(text, 1e6, told);
    ASSERT_TRUE(found) << found.error().message();
    EXPECT_EQ(told.rows, expected);
    EXPECT_EQ(found->last_ps, 11 * ps_per_us);
}

TEST(Samples, RefuseWhatNobodyCanRelyOn) {
    struct Row {
        const char* text;
        const char* says;
    };
    for (const Row& row : {Row{"D0,D1\n0,1\n", "has no column of times"},
                           Row{"time,D0\n0,1\n", "names all wired signals"}, Row{"", "it is empty"},
                           Row{"time,D0,D1\n", "has no rows"},
                           Row{"time,D0,D1\n0,0,1\n1,0\n", "run.csv:3: has 2 columns"},
                           Row{"time,D0,D1\n0,0,1\nx,0,1\n", "run.csv:3: `x` is no time"},
                           Row{"time,D0,D1\n5,0,1\n4,0,1\n", "time goes back"},
                           Row{"time,D0,D1\n0,0,3.3\n", "neither 0 nor 1"},
                           Row{"time,D0,D1\n-8e6,0,1\n8e6,0,1\n", "`-8e6` is no time"},
                           Row{"time,D0,D1\n0,0,1\n8.7e5,0,1\n", "7 days"}}) {
        Told told;
        const auto found = read(row.text, std::nullopt, told);
        ASSERT_FALSE(found) << row.text;
        EXPECT_NE(found.error().message().find(row.says), std::string::npos)
            << found.error().message();
    }
}

} // namespace
} // namespace dropledger::capture
