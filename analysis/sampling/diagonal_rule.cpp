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

} // namespace

const std::vector<double>& rule_aqls() {
    static const std::vector<double> aqls{0.010, 0.015, 0.025, 0.040, 0.065, 0.10, 0.15, 0.25,
                                          0.40,  0.65,  1.0,   1.5,   2.5,   4.0,  6.5,  10.0};
    return aqls;
}

std::optional<AttributePlan> plan_by_rule(char letter, double aql, Severity severity) {
    const auto& aqls = rule_aqls();
    const auto column = std::find_if(aqls.begin(), aqls.end(),
                                     [&](double one) { return std::abs(one - aql) < 1e-9; });
    auto row = letters.find(letter);
    if (column == aqls.end() || row == std::string_view::npos)
        return std::nullopt;
    const auto diagonal = diagonal_of(severity);
    const auto& sizes = severity == Severity::reduced ? reduced_sizes : full_sizes;
    // Only tightened inspection has a letter behind R.
    const std::size_t rows = letters.size() + (severity == Severity::tightened ? 1 : 0);
    const auto first = first_place + static_cast<int>(column - aqls.begin());
    const auto numbers_at = [&](std::size_t place) {
        return at(diagonal, first + static_cast<int>(place));
    };
    const auto has_numbers = [&](std::size_t place) { return numbers_at(place).go == Go::nowhere; };
    const auto below = [&]() -> std::optional<std::size_t> {
        for (std::size_t to = row; to < rows; ++to)
            if (has_numbers(to))
                return to;
        return std::nullopt;
    };
    const auto above = [&]() -> std::optional<std::size_t> {
        for (std::size_t to = row + 1; to > 0; --to)
            if (has_numbers(to - 1))
                return to - 1;
        return std::nullopt;
    };
    // An arrow that leads out of the table leads the other way.
    const bool goes_down = numbers_at(row).go == Go::down;
    const auto wanted = goes_down ? below() : above();
    const auto place = wanted ? wanted : goes_down ? above() : below();
    if (!place)
        throw BrokenInvariant("arrows of a sampling table that lead nowhere");
    row = *place;
    const Numbers found = numbers_at(row);
    return AttributePlan{.letter = letter,
                         .n = sizes.at(row),
                         .accept = found.accept,
                         .reject = found.reject,
                         .whole_lot = false,
                         .computed = true};
}

} // namespace dropledger::batch
