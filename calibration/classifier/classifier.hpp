// How many seeds a pulse holds, told from its width and depth: dust, one, two or three.
//
// Light lost to seeds that overlap multiplies, so with depth d (share of light lost) the
// attenuation −ln(1 − d) of k seeds is k times that of one. The mixture is normal in ln width and
// in ln attenuation; k seeds have the mean of one plus ln k and its variance over k in attenuation,
// and their own mean and variance in width; dust is free, but shorter or shallower. Fitted by
// expectation-maximisation from several seeded starts; which components there are is chosen by BIC.
// Assumes: most pulses are single seeds.
// Undefined when: fewer than 50 pulses with a width and a depth: refused.
// Source: Dempster, Laird & Rubin 1977; Schwarz 1978.
#pragma once

#include "analysis/base/result.hpp"
#include "analysis/ledger/setup.hpp"

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

namespace dropledger::calibration {

struct PulseClass {
    std::uint32_t seeds = 1; // 0: dust
    double weight = 0.0;
    double width_mean = 0.0; // of ln(width in µs)
    double width_sd = 1.0;
    double depth_mean = 0.0; // of ln(−ln(1 − depth))
    double depth_sd = 1.0;
};

struct Posterior {
    std::uint32_t seeds = 1; // most probable
    double probability = 1.0;
};

struct Classifier {
    std::vector<PulseClass> classes;

    [[nodiscard]] Posterior classify(const ledger::PulseShape& shape) const;
    [[nodiscard]] const PulseClass* of(std::uint32_t seeds) const; // null: there is no such class
};

struct ClassifierFit {
    Classifier classifier;
    double log_likelihood = 0.0;
    double bic = 0.0;
    std::vector<std::pair<std::string, double>> tried; // classes and their BIC, lowest first
    std::int64_t pulses = 0;
    std::vector<std::int64_t> counts;  // pulses classified as 0, 1, 2, 3 seeds
    std::uint32_t threshold_milli = 0; // shallower pulses are dust
    double dust_passed = 0.0;          // share of dust that is deeper
    double seeds_lost = 0.0;           // share of single seeds that are shallower
};

[[nodiscard]] Result<ClassifierFit> fit_classifier(const std::vector<ledger::PulseShape>& pulses,
                                                   std::uint64_t seed);

} // namespace dropledger::calibration
