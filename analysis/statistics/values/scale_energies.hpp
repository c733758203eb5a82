// How much a stream of whole numbers varies on each scale: the sums of squared differences of
// neighbouring block sums, for blocks of 1, 2, 4, 8, … values (Haar wavelet energies).
//
// Assumes: values come in the order of the run, less than 2^38 from 0, at most 2^40 of them: then
// no sum can overflow. Independent values vary alike on all scales; values that hang together vary
// more on the long ones (dependence.hpp reads that). Constant memory, two steps a value on average,
// exact integers.
// Source: Haar 1910; analysis of variance by scale: Percival & Walden 2000, ch. 8.
#pragma once

#include "analysis/base/wide.hpp"

#include <array>
#include <cstddef>
#include <cstdint>
#include <optional>
#include <vector>

namespace dropledger::statistics {

// The differences of one scale.
struct ScaleEnergy {
    std::int64_t block = 1; // values in one block
    std::int64_t pairs = 0;
    double energy = 0.0; // sum of squared differences, in squares of the values' unit
};

class ScaleEnergies {
public:
    void add(std::int64_t value) {
        for (Scale& scale : scales_) {
            if (!scale.waits) {
                scale.sum = value;
                scale.waits = true;
                return;
            }
            const std::int64_t apart = scale.sum - value;
            scale.energy += Wide{apart} * apart;
            ++scale.pairs;
            scale.waits = false;
            value += scale.sum;
        }
    }

    // Scales that hold a pair, the shortest first.
    [[nodiscard]] std::vector<ScaleEnergy> scales() const;

private:
    struct Scale {
        std::int64_t sum = 0; // of the block that waits for its neighbour
        std::int64_t pairs = 0;
        Wide energy = 0;
        bool waits = false;
    };
    static constexpr std::size_t most_scales = 24;

    std::array<Scale, most_scales> scales_{};
};

} // namespace dropledger::statistics
