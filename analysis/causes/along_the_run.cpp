#include "analysis/causes/along_the_run.hpp"

#include <algorithm>
#include <cmath>

namespace dropledger::causes {

namespace {

constexpr int places = 3; // looked at

statistics::Group group(double hits, std::int64_t drops) {
    return {.x = std::llround(hits), .n = drops};
}

} // namespace

void ShareAlong::add(bool hit) {
    hits_.add(hit ? 1.0 : 0.0);
    starts_.add(hit && !in_row_ ? 1.0 : 0.0);
    in_row_ = hit;
}

std::optional<ShareCourse> ShareAlong::course() const {
    if (hits_.held_blocks() < BlockSeries::least_blocks)
        return std::nullopt;
    std::optional<ShareCourse> found;
    for (int quarters = 1; quarters <= places; ++quarters) {
        const Parts starts = starts_.parts(quarters);
        const auto p = statistics::fisher_exact_p(group(starts.first, starts.first_count),
                                                  group(starts.rest, starts.rest_count));
        if (!p || (found && *p * places >= found->p_value))
            continue;
        const Parts hits = hits_.parts(quarters);
        found = ShareCourse{.first = group(hits.first, hits.first_count),
                            .last = group(hits.rest, hits.rest_count),
                            .quarters = quarters,
                            .p_value = std::min(1.0, *p * places)};
    }
    return found;
}

statistics::Group ShareAlong::before(int quarters) const {
    const Parts hits = hits_.parts(quarters);
    return group(hits.first, hits.first_count);
}

} // namespace dropledger::causes
