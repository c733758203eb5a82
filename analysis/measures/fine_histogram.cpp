#include "analysis/measures/fine_histogram.hpp"

#include "analysis/base/result.hpp"

#include <cmath>

namespace dropledger::measures {

void FineHistogram::enter_waiting() const {
    for (std::size_t i = 0; i < in_waiting_; ++i)
        ++place_of(waiting_[i]);
    in_waiting_ = 0;
}

FineHistogram::Page& FineHistogram::new_or_far_page(std::int64_t number) const {
    auto& page = pages_[number];
    if (!page)
        page = std::make_unique<Page>();
    if (number >= -near_pages && number < near_pages)
        near_[static_cast<std::size_t>(number + near_pages)] = page.get();
    return *page;
}

std::int64_t FineHistogram::at_rank(std::int64_t rank) const {
    enter_waiting();
    std::int64_t passed = 0;
    for (const auto& [number, page] : pages_) {
        for (std::size_t i = 0; i < page_size; ++i) {
            passed += (*page)[i];
            if (passed >= rank && (*page)[i] > 0)
                return number * static_cast<std::int64_t>(page_size) + static_cast<std::int64_t>(i);
        }
    }
    throw BrokenInvariant("a rank beyond the histogram was asked for");
}

std::optional<double> FineHistogram::quantile(double share) const {
    if (count_ == 0)
        return std::nullopt;
    const double place = share * static_cast<double>(count_ - 1);
    const double below = std::floor(place);
    const auto rank = static_cast<std::int64_t>(below) + 1;
    const auto low = static_cast<double>(at_rank(rank));
    if (place <= below)
        return low;
    const auto high = static_cast<double>(at_rank(rank + 1));
    return low + (place - below) * (high - low);
}

std::int64_t FineHistogram::count_between(std::int64_t low_um, std::int64_t high_um) const {
    std::int64_t inside = 0;
    for_each([&](std::int64_t value, std::int64_t times) {
        inside += value >= low_um && value <= high_um ? times : 0;
    });
    return inside;
}

std::optional<FineHistogram::Band> FineHistogram::fullest_band(std::int64_t width_um) const {
    std::vector<std::pair<std::int64_t, std::int64_t>> values;
    for_each([&](std::int64_t value, std::int64_t times) { values.emplace_back(value, times); });
    if (values.empty())
        return std::nullopt;
    Band best;
    std::int64_t inside = 0;
    std::size_t last = 0;
    for (std::size_t first = 0; first < values.size(); ++first) {
        for (; last < values.size() && values[last].first <= values[first].first + width_um; ++last)
            inside += values[last].second;
        if (inside > best.count)
            best = {values[first].first, inside};
        inside -= values[first].second;
    }
    return best;
}

} // namespace dropledger::measures
