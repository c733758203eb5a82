#include "analysis/sampling/diagonal_rule.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <span>
#include <string_view>

namespace dropledger::batch {

namespace {

constexpr std::string_view letters = "ABCDEFGHJKLMNPQR";

enum class Go : std::uint8_t { nowhere, down, up };

struct Numbers {
    Go go = Go::nowhere;
    std::int64_t accept = 0;
    std::int64_t reject = 0;
};

constexpr Numbers down{Go::down, 0, 0};
constexpr Numbers up{Go::up, 0, 0};
constexpr Numbers numbers(std::int64_t accept, std::int64_t reject) {
    return {Go::nowhere, accept, reject};
}

constexpr std::array normal_diagonal{numbers(0, 1),
                                     up,
                                     down,
                                     numbers(1, 2),
                                     numbers(2, 3),
                                     numbers(3, 4),
                                     numbers(5, 6),
                                     numbers(7, 8),
                                     numbers(10, 11),
                                     numbers(14, 15),
                                     numbers(21, 22)};
constexpr std::array tightened_diagonal{
    down,          numbers(0, 1),   down,           down,
    numbers(1, 2), numbers(2, 3),   numbers(3, 4),  numbers(5, 6),
    numbers(8, 9), numbers(12, 13), numbers(18, 19)};
constexpr std::array reduced_diagonal{numbers(0, 1),  up,
                                      down,           numbers(0, 2),
                                      numbers(1, 3),  numbers(1, 4),
                                      numbers(2, 5),  numbers(3, 6),
                                      numbers(5, 8),  numbers(7, 10),
                                      numbers(10, 13)};

// A further letter behind R, which tightened inspection needs for the smallest AQLs.
constexpr std::array<std::int64_t, 17> full_sizes{2,   3,   5,   8,   13,  20,   32,   50,  80,
                                                  125, 200, 315, 500, 800, 1250, 2000, 3150};
constexpr std::array<std::int64_t, 17> reduced_sizes{2,  2,  2,   3,   5,   8,   13,  20, 32,
                                                     50, 80, 125, 200, 315, 500, 800, 0};

// The place on the diagonal of letter A at an AQL of 0.010 %.
constexpr int first_place = -14;

std::span<const Numbers> diagonal_of(Severity severity) {
    switch (severity) {
    case Severity::normal:
        return normal_diagonal;
    case Severity::tightened:
        return tightened_diagonal;
    case Severity::reduced:
        return reduced_diagonal;
    }
    throw BrokenInvariant("a severity without a diagonal");
}

Numbers at(std::span<const Numbers> diagonal, int place) {
    if (place < 0)
        return down;
    return place < static_cast<int>(diagonal.size()) ? diagonal[static_cast<std::size_t>(place)]
                                                     : up;
}

// One column of a table: the diagonal as it passes through the rows of an AQL.
class Column {
public:
    Column(Severity severity, int number)
        : diagonal_(diagonal_of(severity)), first_(first_place + number),
          // Only tightened inspection has a letter behind R.
          rows_(letters.size() + (severity == Severity::tightened ? 1 : 0)) {}

    [[nodiscard]] Numbers at(std::size_t row) const {
        return batch::at(diagonal_, first_ + static_cast<int>(row));
    }

    // The row with numbers to which the arrow of `row` leads, if it is one; an arrow that leads out
    // of the table leads the other way.
    [[nodiscard]] std::size_t row_for(std::size_t row) const {
        const bool goes_down = at(row).go == Go::down;
        auto found = goes_down ? below(row) : above(row);
        if (!found)
            found = goes_down ? above(row) : below(row);
        if (!found)
            throw BrokenInvariant("arrows of a sampling table that lead nowhere");
        return *found;
    }

private:
    [[nodiscard]] std::optional<std::size_t> below(std::size_t row) const {
        for (; row < rows_; ++row)
            if (at(row).go == Go::nowhere)
                return row;
        return std::nullopt;
    }
    [[nodiscard]] std::optional<std::size_t> above(std::size_t row) const {
        for (++row; row > 0; --row)
            if (at(row - 1).go == Go::nowhere)
                return row - 1;
        return std::nullopt;
    }

    std::span<const Numbers> diagonal_;
    int first_;
    std::size_t rows_;
};

} // namespace

const std::vector<double>& rule_aqls() {
    static const std::vector<double> aqls{0.010, 0.015, 0.025, 0.040, 0.065, 0.10, 0.15, 0.25,
                                          0.40,  0.65,  1.0,   1.5,   2.5,   4.0,  6.5,  10.0};
    return aqls;
}

std::optional<AttributePlan> plan_by_rule(char letter, double aql, Severity severity) {
    const auto& aqls = rule_aqls();
    const auto found = std::find_if(aqls.begin(), aqls.end(),
                                    [&](double one) { return std::abs(one - aql) < 1e-9; });
    const auto asked = letters.find(letter);
    if (found == aqls.end() || asked == std::string_view::npos)
        return std::nullopt;
    const Column column(severity, static_cast<int>(found - aqls.begin()));
    const std::size_t row = column.row_for(asked);
    const auto& sizes = severity == Severity::reduced ? reduced_sizes : full_sizes;
    return AttributePlan{.letter = letter,
                         .n = sizes.at(row),
                         .accept = column.at(row).accept,
                         .reject = column.at(row).reject,
                         .whole_lot = false,
                         .computed = true};
}

} // namespace dropledger::batch
