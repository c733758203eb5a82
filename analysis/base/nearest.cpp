#include "analysis/base/nearest.hpp"

#include <algorithm>
#include <cstddef>
#include <numeric>
#include <utility>
#include <vector>

namespace dropledger {

namespace {

// Letters put in, taken out or changed, and neighbours that changed places.
std::size_t edits(std::string_view from, std::string_view to) {
    using Row = std::vector<std::size_t>;
    Row before(to.size() + 1);
    Row row(to.size() + 1);
    std::iota(row.begin(), row.end(), std::size_t{0});
    for (std::size_t i = 0; i < from.size(); ++i) {
        Row next(to.size() + 1, i + 1);
        for (std::size_t j = 0; j < to.size(); ++j) {
            const std::size_t changed = row[j] + (from[i] == to[j] ? 0 : 1);
            next[j + 1] = std::min({changed, next[j] + 1, row[j + 1] + 1});
            if (i > 0 && j > 0 && from[i] == to[j - 1] && from[i - 1] == to[j])
                next[j + 1] = std::min(next[j + 1], before[j - 1] + 1);
        }
        before = std::exchange(row, std::move(next));
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
