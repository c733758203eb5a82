#include "analysis/statistics/values/scale_energies.hpp"

namespace dropledger::statistics {

std::vector<ScaleEnergy> ScaleEnergies::scales() const {
    std::vector<ScaleEnergy> held;
    std::int64_t block = 1;
    for (const Scale& scale : scales_) {
        if (scale.pairs > 0)
            held.push_back({.block = block,
                            .pairs = scale.pairs,
                            .energy = static_cast<double>(scale.energy)});
        block *= 2;
    }
    return held;
}

} // namespace dropledger::statistics
