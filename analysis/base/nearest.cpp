#include "analysis/base/nearest.hpp"

#include <algorithm>
#include <cstddef>
#include <numeric>
#include <vector>

namespace dropledger {

namespace {

// Letters put in, taken out or changed.
std::size_t edits(std::string_view from, std::string_view to) {
    std::vector<std::size_t> row(to.size() + 1);
    std::iota(row.begin(), row.end(), std::size_t{0});
    for (std::size_t i = 0; i < from.size(); ++i) {
        std::size_t diagonal = row[0];
        row[0] = i + 1;
        for (std::size_t j = 0; j < to.size(); ++j) {
            const std::size_t changed = diagonal + (from[i] == to[j] ? 0 : 1);
            diagonal = row[j + 1];
            row[j + 1] = std::min({changed, row[j] + 1, row[j + 1] + 1});
        }
    }
    return row.back();
}

} // namespace

std::optional<std::string_view> nearest(std::string_view word,
                                        const std::vector<std::string_view>& known) {
    constexpr std::size_t longest = 100; // no name is longer, and the work grows with it
    if (word.size() > longest)
        return std::nullopt;
    std::optional<std::string_view> best;
    std::size_t least = word.size() / 3 + 1;
    for (const std::string_view one : known)
        if (const std::size_t found = edits(word, one); found < least) {
            least = found;
            best = one;
        }
    return best;
}

} // namespace dropledger
