#include "analysis/audit/model/sensor.hpp"

#include <algorithm>

namespace dropledger::audit {

Quantity corrected_as(Quantity quantity) {
    if (quantity == Quantity::miss_share)
        return Quantity::miss_index;
    return quantity == Quantity::multiple_share ? Quantity::multiples_index : quantity;
}

const SensorCorrection* Sensor::correction(Quantity quantity) const {
    const auto found =
        std::find_if(corrections.begin(), corrections.end(), [&](const SensorCorrection& one) {
            return one.quantity == corrected_as(quantity);
        });
    return found == corrections.end() ? nullptr : &*found;
}

} // namespace dropledger::audit
