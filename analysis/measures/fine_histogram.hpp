// How often each whole micrometre occurred: exact quantiles, shares and densest bands of any number
// of values in memory that follows their range, not their number.
//
// Units: µm.
// Undefined when: empty; then the quantile and the band are.
#pragma once

#include <array>
#include <cstdint>
#include <map>
#include <memory>
#include <optional>
#include <vector>

namespace dropledger::measures {

constexpr double um_per_mm = 1000.0;

class FineHistogram {
public:
    // Values are entered block by block: their places lie far apart in memory, and in one loop the
    // ways there overlap.
    void add(std::int64_t value_um) {
        ++count_;
        waiting_[in_waiting_] = value_um;
        if (++in_waiting_ == waiting_.size())
            enter_waiting();
    }
    void add(std::int64_t value_um, std::uint32_t times) {
        if (times == 1)
            return add(value_um);
        count_ += times;
        place_of(value_um) += times;
    }

    [[nodiscard]] std::int64_t count() const { return count_; }
    // The rank-th smallest value, 1-based.
    [[nodiscard]] std::int64_t at_rank(std::int64_t rank) const;
    // Type 7 (linear between order statistics); share 0 … 1.
    [[nodiscard]] std::optional<double> quantile(double share) const;
    // Values from `low` to `high`, both included.
    [[nodiscard]] std::int64_t count_between(std::int64_t low_um, std::int64_t high_um) const;

    struct Band {
        std::int64_t low_um = 0;
        std::int64_t count = 0;
    };
    // The band of this width (both ends included) that holds most values; the lowest of equals.
    [[nodiscard]] std::optional<Band> fullest_band(std::int64_t width_um) const;

    // Values and their counts in ascending order.
    template <class Visit> void for_each(Visit visit) const {
        enter_waiting();
        for (const auto& [number, page] : pages_)
            for (std::size_t i = 0; i < page_size; ++i)
                if ((*page)[i] > 0)
                    visit(number * static_cast<std::int64_t>(page_size) +
                              static_cast<std::int64_t>(i),
                          std::int64_t{(*page)[i]});
    }

private:
    static constexpr std::size_t page_size = 1024;
    using Page = std::array<std::uint32_t, page_size>;

    // Almost all values lie within a few metres of 0: their pages are found without a search.
    static constexpr std::int64_t near_pages = 2048; // on either side

    [[nodiscard]] std::uint32_t& place_of(std::int64_t value_um) const {
        constexpr auto size = static_cast<std::int64_t>(page_size);
        const std::int64_t number =
            value_um >= 0 ? value_um / size : -((size - 1 - value_um) / size);
        return page(number)[static_cast<std::size_t>(value_um - number * size)];
    }
    [[nodiscard]] Page& page(std::int64_t number) const {
        if (number >= -near_pages && number < near_pages)
            if (Page* const found = near_[static_cast<std::size_t>(number + near_pages)])
                return *found;
        return new_or_far_page(number);
    }
    [[nodiscard]] Page& new_or_far_page(std::int64_t number) const;
    void enter_waiting() const;

    // Asking enters what waits: the answers do not change by it.
    mutable std::map<std::int64_t, std::unique_ptr<Page>> pages_;
    mutable std::vector<Page*> near_ = std::vector<Page*>(2 * near_pages, nullptr);
    mutable std::array<std::int64_t, 256> waiting_{};
    mutable std::size_t in_waiting_ = 0;
    std::int64_t count_ = 0;
};

} // namespace dropledger::measures
