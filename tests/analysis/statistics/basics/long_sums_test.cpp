#include "analysis/statistics/basics/long_sums.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <limits>

using namespace dropledger::statistics;

namespace {

// Term by term, in a wider type.
template <class Term> double plain(Progression u, Stretch over, const Term& term) {
    long double sum = 0.0L;
    for (std::int64_t j = over.from; j < over.to; ++j)
        sum += term(static_cast<long double>(j),
                    static_cast<long double>(u.first) +
                        static_cast<long double>(j) * static_cast<long double>(u.step));
    return static_cast<double>(sum);
}

// u_j itself is rounded: so much of each term cannot be known.
void expect_near(double found, double expected, Stretch over) {
    const double terms = static_cast<double>(over.to - over.from);
    EXPECT_NEAR(found, expected, 4e-14 * std::abs(expected) + 2e-16 * terms);
}

} // namespace

TEST(LongSums, EqualPlainSumsWhateverTheStep) {
    for (const double first : {1e-12, 1e-6, 0.03, 0.5, 1.0})
        for (const double step : {0.0, 1e-15, 1e-9, 1e-5, 9.99e-4, 1e-3, 0.02, 1.0, 1e4})
            for (const Stretch over : {Stretch{0, 1}, Stretch{0, 64}, Stretch{3, 65},
                                       Stretch{70, 71}, Stretch{0, 5000}, Stretch{900, 90'000}}) {
                const Progression u{first, step};
                SCOPED_TRACE(testing::Message()
                             << first << " + j " << step << ", " << over.from << " to " << over.to);
                expect_near(sum_of_logs(u, over),
                            plain(u, over, [](auto, auto v) { return std::log(v); }), over);
                expect_near(sum_of_inverses(u, over),
                            plain(u, over, [](auto, auto v) { return 1.0L / v; }), over);
                expect_near(sum_of_ratios(u, over),
                            plain(u, over, [](auto j, auto v) { return j / v; }), over);
            }
}

TEST(LongSums, KeepTheDigitsOfLogarithmsNearOne) {
    const Progression u{1.0, 1e-13};
    const Stretch over{0, 2000};
    EXPECT_NEAR(sum_of_logs(u, over) / 1.999e-7, 1.0, 1e-9); // 1e-13 · 1999 · 2000 / 2
}

TEST(LongSums, AreEmptyOverNothing) {
    EXPECT_EQ(sum_of_logs({0.5, 0.1}, {7, 7}), 0.0);
    EXPECT_EQ(sum_of_inverses({0.5, 0.1}, {700, 700}), 0.0);
    EXPECT_EQ(sum_of_ratios({0.5, 0.1}, {0, 0}), 0.0);
}

TEST(LongSums, AreInfiniteWhereTheirTermsAre) {
    constexpr double infinite = std::numeric_limits<double>::infinity();
    EXPECT_EQ(sum_of_logs({0.0, 0.0}, {0, 1000}), -infinite);
    EXPECT_EQ(sum_of_inverses({0.0, 0.0}, {100, 1000}), infinite);
    EXPECT_EQ(sum_of_logs({0.0, 0.1}, {0, 10}), -infinite);
    EXPECT_TRUE(std::isfinite(sum_of_logs({0.0, 0.1}, {100, 10'000'000'000})));
}
