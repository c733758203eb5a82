// Prints how often intervals hold after a stop: stopped_index_table [RUNS] [SEED]
#include "analysis/base/text.hpp"
#include "tests/analysis/audit/stopped_index.hpp"

#include <fmt/format.h>

int main(int argc, char** argv) {
    using namespace dropledger;
    const auto runs = static_cast<int>(argc > 1 ? parse_int(argv[1]).value_or(400) : 400);
    const auto seed =
        static_cast<std::uint64_t>(argc > 2 ? parse_int(argv[2]).value_or(1) : std::int64_t{1});
    fmt::print("| misses %, rows of | miss_index | quality_of_feed_index | gaps per spacing | "
               "miss_share | index and share say the same % |\n"
               "| --- | --- | --- | --- | --- | --- |\n");
    for (const double share : {0.01, 0.02, 0.05, 0.1})
        for (const double length : {1.0, 2.5, 5.0, 10.0}) {
            const auto held = testing::held_after_stop({share, length, runs, seed});
            fmt::print("| {:g}, {:g} | {:.1f} | {:.1f} | {:.1f} | {:.1f} | {:.1f} |\n",
                       100.0 * share, length, 100.0 * held.miss_index,
                       100.0 * held.quality_of_feed_index, 100.0 * held.gaps_per_spacing,
                       100.0 * held.miss_share, 100.0 * held.agreed);
        }
}
