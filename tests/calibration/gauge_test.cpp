#include "calibration/gauge/gauge.hpp"

#include "calibration/gauge/mean_squares.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <fstream>
#include <random>
#include <set>
#include <sstream>

using namespace dropledger;
using namespace dropledger::calibration;

namespace {

constexpr Confidence usual{0.95};

std::string published() {
    std::ifstream file(DROPLEDGER_FIXTURES "/published/gauge-study.csv");
    std::ostringstream text;
    text << file.rdbuf();
    return text.str();
}

GaugeStudy study_of(const std::string& csv, std::optional<double> tolerance = {}) {
    const auto readings = read_gauge(csv, "study.csv");
    EXPECT_TRUE(readings) << readings.error().message();
    auto study = gauge_study(*readings, tolerance, usual);
    EXPECT_TRUE(study) << study.error().message();
    return *std::move(study);
}

std::string message_of(const std::string& csv) {
    const auto readings = read_gauge(csv, "study.csv");
    if (!readings)
        return readings.error().message();
    const auto study = gauge_study(*readings, {}, usual);
    return study ? std::string{} : study.error().message();
}

} // namespace

// AIAG MSA reference data: data and components seen in public copies, sums of squares recomputed.
TEST(Gauge, ReproducesThePublishedAnalysisOfVariance) {
    const GaugeStudy study = study_of(published());
    struct Published {
        std::size_t row;
        const char* source;
        double ss;
        std::int64_t df;
        double ms;
        double f;
    };
    const Published rows[] = {{0, "unit", 88.3619344, 9, 9.8179927, 213.517143},
                              {1, "operator", 3.1672622, 2, 1.5836311, 34.440073},
                              {2, "interaction", 0.3589822, 18, 0.0199435, 0.433721}};
    for (const Published& row : rows) {
        EXPECT_EQ(study.anova[row.row].source, row.source);
        EXPECT_NEAR(study.anova[row.row].sum_of_squares, row.ss, 0.5e-7);
        EXPECT_EQ(study.anova[row.row].degrees, row.df);
        EXPECT_NEAR(*study.anova[row.row].mean_square, row.ms, 0.5e-7);
        EXPECT_NEAR(*study.anova[row.row].f, row.f, 0.5e-6);
    }
    EXPECT_NEAR(study.anova[3].sum_of_squares, 2.7589333, 0.5e-7);
    EXPECT_NEAR(*study.anova[3].mean_square, 0.0459822, 0.5e-7);
    EXPECT_NEAR(study.anova[4].sum_of_squares, 94.6471122, 0.5e-7);
    EXPECT_EQ(study.anova[4].degrees, 89);
    EXPECT_NEAR(study.interaction_p, 0.974106, 0.5e-6);
}

// As above; pooled because p > 0.25.
TEST(Gauge, ReproducesThePublishedComponents) {
    const GaugeStudy study = study_of(published());
    EXPECT_TRUE(study.interaction_pooled);
    EXPECT_NEAR(study.model_error_mean_square, 0.0399732764, 0.5e-10);
    EXPECT_EQ(study.model_error_degrees, 78);
    EXPECT_NEAR(study.sd.repeatability, 0.1999331797, 0.5e-10);
    EXPECT_NEAR(study.sd.reproducibility, 0.2268375215, 0.5e-10);
    EXPECT_NEAR(study.sd.gauge, 0.3023715223,
                0.5e-10); // recomputed in exact fractions; printed as 0.302373
    EXPECT_NEAR(study.sd.unit, 1.0423274938, 0.5e-10);
    EXPECT_NEAR(study.sd.total, 1.0852995632, 0.5e-10);
    EXPECT_NEAR(study.percent_of_total.repeatability, 18.42, 0.005);
    EXPECT_NEAR(study.percent_of_total.reproducibility, 20.90, 0.005);
    EXPECT_NEAR(study.percent_of_total.gauge, 27.86, 0.005);
    EXPECT_NEAR(study.percent_of_total.unit, 96.04, 0.005);
    EXPECT_NEAR(study.percent_contribution.repeatability, 3.39, 0.005);
    EXPECT_NEAR(study.percent_contribution.reproducibility, 4.37, 0.005);
    EXPECT_NEAR(study.percent_contribution.gauge, 7.76, 0.005);
    EXPECT_NEAR(study.percent_contribution.unit, 92.24, 0.005);
    EXPECT_NEAR(*study.categories, 4.8605, 0.5e-4);
}

// Model F by hand from the published mean squares: 1.5836311 and 9.8179927 over 0.0399732764.
TEST(Gauge, TestsMainEffectsAsTheModelAsks) {
    const GaugeStudy study = study_of(published());
    EXPECT_NEAR(*study.anova[1].f_model, 1.5836311 / 0.0399732764, 1e-5);
    EXPECT_NEAR(*study.anova[0].f_model, 9.8179927 / 0.0399732764, 1e-5);
    EXPECT_FALSE(study.anova[2].f_model);
}

TEST(Gauge, GivesSharesOfTheTolerance) {
    const GaugeStudy study = study_of(published(), 8.0);
    ASSERT_TRUE(study.percent_of_tolerance);
    EXPECT_NEAR(study.percent_of_tolerance->gauge, 100.0 * 6.0 * 0.3023715224 / 8.0, 1e-7);
    const auto readings = read_gauge(published(), "x");
    EXPECT_FALSE(gauge_study(*readings, 0.0, usual));
}

// Constructed: each operator sees the units in another order, so the interaction is large and kept.
TEST(Gauge, KeepsAnInteractionThatIsThere) {
    const GaugeStudy study = study_of("value,note,operator,trial,unit\n"
                                      "1.0,x,A,1,1\n1.1,x,A,2,1\n5.0,x,A,1,2\n5.1,x,A,2,2\n"
                                      "5.0,x,B,1,1\n5.1,x,B,2,1\n1.0,x,B,1,2\n1.3,x,B,2,2\n");
    EXPECT_FALSE(study.interaction_pooled);
    EXPECT_EQ(study.model_error, "interaction");
    EXPECT_GT(study.interaction_variance, 1.0);
    EXPECT_EQ(study.sd.unit, 0.0);
    ASSERT_TRUE(study.intervals.interaction);
    EXPECT_LT(study.intervals.interaction->interval->low, study.intervals.interaction->value);
    EXPECT_GT(study.intervals.interaction->interval->high, study.intervals.interaction->value);
    EXPECT_FALSE(study_of(published()).intervals.interaction); // pooled
    // MS interaction − MS repeatability over 2 repeats
    EXPECT_NEAR(study.interaction_variance,
                (*study.anova[2].mean_square - *study.anova[3].mean_square) / 2.0, 1e-12);
    EXPECT_NEAR(study.sd.repeatability, std::sqrt(*study.anova[3].mean_square), 1e-12);
}

TEST(Gauge, SaysWhatIsWrongWithAStudy) {
    const std::string head = "unit,operator,trial,value\n";
    EXPECT_NE(message_of(head + "1,A,1,2\n1,A,2,2.1\n1,B,1,2\n1,B,2,2\n2,A,1,3\n2,A,2,3\n2,B,1,3\n")
                  .find("unit 2 was measured 1 times by operator B"),
              std::string::npos);
    EXPECT_NE(message_of(head + "1,A,1,2\n1,B,1,3\n2,A,1,2\n2,B,1,3\n").find("once"),
              std::string::npos);
    EXPECT_NE(message_of(head + "1,A,1,2\n1,A,1,3\n").find("twice"), std::string::npos);
    EXPECT_NE(message_of(head + "1,A,1,two\n").find("study.csv:2"), std::string::npos);
    EXPECT_NE(message_of("unit,trial,value\n1,1,2\n").find("operator"), std::string::npos);
    EXPECT_NE(message_of(head + "1,A,1,2\n1,A,2,2\n2,A,1,2\n2,A,2,2\n").find("1 operators"),
              std::string::npos);
    EXPECT_NE(message_of(head).find("no values"), std::string::npos);
    EXPECT_NE(message_of(head +
                         "1,A,1,2\n1,A,2,2\n2,A,1,2\n2,A,2,2\n1,B,1,2\n1,B,2,2\n2,B,1,2\n2,B,2,2\n")
                  .find("all values are the same"),
              std::string::npos);
}

// Own simulation, true standard deviations known: 95 % intervals of the components cover.
TEST(Gauge, CoversTheTrueComponents) {
    constexpr int studies = 600;
    std::mt19937_64 random(11);
    std::normal_distribution<double> normal;
    int repeatability = 0;
    int gauge = 0;
    int unit = 0;
    int between = 0;
    for (int study = 0; study < studies; ++study) {
        std::vector<double> operators(4);
        for (double& op : operators)
            op = 0.5 * normal(random);
        std::vector<GaugeReading> readings;
        for (int u = 0; u < 8; ++u) {
            const double base = 2.0 * normal(random);
            for (std::size_t o = 0; o < operators.size(); ++o)
                for (int t = 0; t < 2; ++t)
                    readings.push_back({std::to_string(u), std::to_string(o), std::to_string(t),
                                        base + operators[o] + 0.4 * normal(random)});
        }
        const GaugeIntervals found = gauge_study(readings, {}, usual)->intervals;
        const auto holds = [](const statistics::Estimate& sd, double truth) {
            return sd.interval->low <= truth && truth <= sd.interval->high ? 1 : 0;
        };
        repeatability += holds(found.repeatability, 0.4);
        gauge += holds(found.gauge, std::hypot(0.4, 0.5));
        unit += holds(found.unit, 2.0);
        between += holds(found.operators, 0.5);
    }
    // 95 % of 600 with four binomial standard errors; pooling by a test costs repeatability a
    // little
    for (const int covered : {repeatability, gauge, unit, between}) {
        EXPECT_GE(covered, 570 - 32);
        EXPECT_LE(covered, 598);
    }
}

TEST(Gauge, PlansEveryReadingOnceInAnOrderThatTheSeedFixes) {
    const auto plan = plan_gauge({5, 3, 2, 42});
    ASSERT_TRUE(plan);
    EXPECT_EQ(plan->size(), 30U);
    std::set<std::tuple<std::int64_t, std::int64_t, std::int64_t>> seen;
    for (const PlannedReading& reading : *plan)
        seen.insert({reading.unit, reading.operator_number, reading.trial});
    EXPECT_EQ(seen.size(), 30U);
    const auto units = [](const std::vector<PlannedReading>& readings) {
        std::string text;
        for (const PlannedReading& reading : readings)
            text +=
                std::to_string(reading.unit) + '.' + std::to_string(reading.operator_number) + ' ';
        return text;
    };
    EXPECT_EQ(units(*plan), units(*plan_gauge({5, 3, 2, 42})));
    EXPECT_NE(units(*plan), units(*plan_gauge({5, 3, 2, 43})));
    EXPECT_FALSE(plan_gauge({1, 3, 2, 0}));
}
