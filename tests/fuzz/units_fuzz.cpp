// Counts of several units as `batch units` reads them, and their comparison.
#include "analysis/base/readers/csv_table.hpp"
#include "analysis/batch/runs/units.hpp"
#include "tests/fuzz/target.hpp"

#include <cmath>

using namespace dropledger;

namespace {

bool is_count(double value, double most) {
    return value >= 0.0 && value <= most && value == std::floor(value);
}

} // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* bytes, std::size_t size) {
    constexpr double most = 1e9;
    const auto table = CsvTable::read(fuzz::text_of(bytes, size), "units.csv",
                                      {.needed = {"unit", "n", "misses"}, .optional = {}});
    if (!table)
        return 0;
    std::vector<statistics::Group> units;
    for (const CsvRow& row : table->rows()) {
        const auto n = table->number(row, 1);
        const auto misses = table->number(row, 2);
        if (!n || !misses || !is_count(*n, most) || !is_count(*misses, *n))
            return 0;
        units.push_back({static_cast<std::int64_t>(*misses), static_cast<std::int64_t>(*n)});
    }
    if (units.size() < 2)
        return 0;
    const auto result = batch::compare_units(units, Share{0.05}, Confidence{0.95});
    if (result.pooled)
        fuzz::require(result.pooled->value >= 0.0 && result.pooled->value <= 1.0, "a share");
    return 0;
}
