// Counts and means along a run in a fixed number of blocks, however long the run: when all are
// full, neighbours are put together and the blocks double their length.
//
// A run may have parts, each with a level of its own (places may lie otherwise after a boot): the
// trend is what all parts have in common within themselves. A block that two parts came to share is
// left out of it.
// Undefined when: fewer than `least_blocks` blocks, and one for each further part, hold anything:
// no trend.
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <vector>

namespace dropledger::causes {

struct Trend {
    double from = 0.0;   // fitted, in the middle of the first block
    double change = 0.0; // fitted, from there to the middle of the last
    double error = 0.0;  // standard, of the change
    double p_value =
        1.0; // of the slope, two-sided; block means may hang together (statistics' trend.hpp)
};

struct Parts {
    double first = 0.0; // sum over the first quarters of the run
    double rest = 0.0;
    std::int64_t first_count = 0;
    std::int64_t rest_count = 0;
};

class BlockSeries {
public:
    static constexpr std::size_t blocks = 64;
    static constexpr std::size_t least_blocks = 8;

    // One step along the run, with a value or without.
    void add(double value);
    void skip();
    void begin_part();

    [[nodiscard]] std::optional<Trend> trend() const;
    // From one level to another, by a quarter, half or three quarters of the run, whichever shows it
    // most; block means are taken for independent of each other. Nothing below 16 blocks.
    [[nodiscard]] std::optional<Trend> step() const;
    [[nodiscard]] Parts parts(int quarters = 1) const; // before and behind so many of the run
    [[nodiscard]] std::size_t held_blocks() const { return used_; }

private:
    struct Block {
        double sum = 0.0;
        std::int64_t count = 0;
        std::int64_t steps = 0;
        std::int64_t part = 0;
    };
    struct Sums;
    static constexpr std::int64_t shared = -1; // by two parts
    Block& current();
    void halve();
    [[nodiscard]] Sums sums() const;
    // Of the blocks that hold a value, of the longest part: parts differ in level.
    [[nodiscard]] std::vector<double> means() const;
    void add_part(std::size_t begin, std::size_t end, Sums& sums) const;

    std::array<Block, blocks> blocks_{};
    std::size_t used_ = 0;
    std::int64_t length_ = 8; // steps of a block, at the most
    std::int64_t part_ = 0;
};

} // namespace dropledger::causes
