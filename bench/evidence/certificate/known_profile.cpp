#include "bench/evidence/certificate/known_profile.hpp"

#include "calibration_profiles.hpp"

namespace dropledger::evidence {

std::optional<std::string_view> known_profile(std::string_view name) {
    for (const profiles::Text& text : profiles::texts())
        if (text.name == name)
            return text.content;
    return std::nullopt;
}

std::optional<double> miss_limit(const verdict::Profile& profile) {
    for (const verdict::Limit& limit : profile.limits)
        if (limit.quantity == measures::Quantity::miss_index ||
            limit.quantity == measures::Quantity::empty_share)
            return limit.value;
    return std::nullopt;
}

} // namespace dropledger::evidence
