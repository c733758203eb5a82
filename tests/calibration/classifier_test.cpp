#include "calibration/classifier/classifier.hpp"

#include "calibration/efficiency/counting_loss.hpp"

#include "tests/bench/virtual/a_scenario.hpp"
#include "tests/bench/virtual/a_simulation.hpp"

#include <gtest/gtest.h>

#include <array>
#include <cmath>
#include <iostream>
#include <random>

using namespace dropledger;
using namespace dropledger::calibration;

namespace {

struct SimulatedPulses {
    std::vector<ledger::PulseShape> shapes;
    std::vector<std::uint32_t> truth;
};

// A random line of one seed size and rate, dust among it.
SimulatedPulses pulses_at(const char* seed_mm, const char* per_metre, std::int64_t drops) {
    using namespace bench_virtual;
    std::string text =
        with(with(single_toml, "\"single\"", std::string("\"line\"\nrate_per_m = ") + per_metre),
             "spacing_mm = 180\n", "");
    text = with(with(text, "cells = 24", "gap_cv = 1.0"), "seed_mm = 1.6",
                std::string("seed_mm = ") + seed_mm);
    text = with(text, "detection = 0.95", "detection = 0.999\ndebris_per_m = 1.0");
    SimulatedPulses out;
    for (const Event& event : simulate(scenario_of(text), drops).events)
        if (event.kind == EventKind::pulse && event.gate == 1) {
            out.shapes.push_back({event.width_us, event.depth_milli});
            out.truth.push_back(event.true_seeds);
        }
    return out;
}

struct Confusion {
    std::array<std::array<int, 4>, 4> counts{}; // [true][said]
    [[nodiscard]] double right() const {
        double right = 0.0;
        double all = 0.0;
        for (std::size_t i = 0; i < 4; ++i)
            for (std::size_t j = 0; j < 4; ++j) {
                all += counts[i][j];
                right += i == j ? counts[i][j] : 0;
            }
        return right / all;
    }
    // Seeds that the classifier counts over seeds there were.
    [[nodiscard]] double seeds_counted() const {
        double said = 0.0;
        double true_seeds = 0.0;
        for (std::size_t i = 0; i < 4; ++i)
            for (std::size_t j = 0; j < 4; ++j) {
                said += static_cast<double>(j) * counts[i][j];
                true_seeds += static_cast<double>(i) * counts[i][j];
            }
        return said / true_seeds;
    }
};

Confusion confusion(const Classifier& classifier, const SimulatedPulses& pulses) {
    Confusion out;
    for (std::size_t i = 0; i < pulses.shapes.size(); ++i)
        ++out.counts[std::min<std::uint32_t>(3, pulses.truth[i])]
                    [classifier.classify(pulses.shapes[i]).seeds];
    return out;
}

} // namespace

// Textbook (800 /s, from memory) and recomputed values.
TEST(CountingLoss, ReproducesDeadTimeValues) {
    struct Row {
        double counted, dead, fixed, extending;
    };
    for (const Row& row :
         {Row{800, 1e-4, 869.565217, 872.977209}, Row{1000, 1e-4, 1111.111111, 1118.325592},
          Row{5000, 2e-5, 5555.555556, 5591.627958}, Row{50, 4e-3, 62.5, 64.792775},
          Row{20, 5e-3, 22.222222, 22.366512}}) {
        EXPECT_NEAR(*rate_not_extending(row.counted, row.dead), row.fixed, 0.5e-6);
        EXPECT_NEAR(*rate_extending(row.counted, row.dead), row.extending, 0.5e-6);
    }
    EXPECT_FALSE(rate_not_extending(1000.0, 1e-3));
    EXPECT_FALSE(rate_extending(400.0, 1e-3));
}

// Recomputed.
TEST(CountingLoss, ReproducesOverlapOfRandomArrivals) {
    const Overlap a = overlap(20.0, 3e-3);
    EXPECT_NEAR(a.share_followed, 0.058235, 0.5e-6);
    EXPECT_NEAR(a.pulses_per_s, 18.8353, 0.5e-4);
    EXPECT_NEAR(a.seeds_per_pulse, 1.061837, 0.5e-6);
    EXPECT_NEAR(a.probability[1], 0.054844, 0.5e-6);
    EXPECT_NEAR(a.probability[2], 0.003194, 0.5e-6);
    const Overlap b = overlap(50.0, 4e-3);
    EXPECT_NEAR(b.probability[0], 0.818731, 0.5e-6);
    EXPECT_NEAR(b.probability[1], 0.148411, 0.5e-6);
    EXPECT_NEAR(b.seeds_per_pulse, 1.221403, 0.5e-6);
}

// Against the truth of the virtual bench: small, middle and large seeds, at low and high rate, dust
// 1 a metre.
TEST(Classifier, TellsDustAndOverlapsOnTheVirtualBench) {
    for (const char* seed_mm : {"1.0", "1.6", "3.0"})
        for (const char* per_metre : {"10", "60"}) {
            const SimulatedPulses pulses = pulses_at(seed_mm, per_metre, 3000);
            const auto fit = fit_classifier(pulses.shapes, 1);
            ASSERT_TRUE(fit) << fit.error().message();
            const Confusion found = confusion(fit->classifier, pulses);
            std::cout << seed_mm << " mm, " << per_metre << " a metre, classes "
                      << fit->tried.front().first << ":";
            for (std::size_t i = 0; i < 4; ++i)
                std::cout << "  true " << i << ": " << found.counts[i][0] << ' '
                          << found.counts[i][1] << ' ' << found.counts[i][2] << ' '
                          << found.counts[i][3];
            std::cout << "  right " << found.right() << " seeds " << found.seeds_counted() << '\n';
            EXPECT_GT(found.right(), 0.95) << seed_mm << ' ' << per_metre;
            EXPECT_NEAR(found.seeds_counted(), 1.0, 0.03) << seed_mm << ' ' << per_metre;
        }
}

TEST(Classifier, FindsOneClassWhereThereIsOne) {
    std::mt19937_64 random(4);
    std::normal_distribution<double> normal;
    std::vector<ledger::PulseShape> shapes;
    for (int i = 0; i < 2000; ++i)
        shapes.push_back({static_cast<std::uint32_t>(1400.0 * std::exp(0.1 * normal(random))),
                          static_cast<std::uint32_t>(
                              1000.0 * (1.0 - std::exp(-0.4 * std::exp(0.1 * normal(random)))))});
    const auto fit = fit_classifier(shapes, 1);
    ASSERT_TRUE(fit);
    EXPECT_EQ(fit->classifier.classes.size(), 1U);
    EXPECT_EQ(fit->counts[1], 2000);
    EXPECT_NEAR(fit->seeds_lost, 1e-3, 1e-3);
}

TEST(Classifier, RefusesTooFewPulses) {
    EXPECT_FALSE(fit_classifier(std::vector<ledger::PulseShape>(20, {1400, 300}), 1));
}
