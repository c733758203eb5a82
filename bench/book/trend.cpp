#include "bench/book/trend.hpp"

#include <fmt/format.h>

#include <algorithm>

namespace dropledger::book {

using measures::Aspect;
using measures::Reported;

namespace {

const Quantity* find(const Verdict& verdict, const std::string& key) {
    for (const Quantity& one : verdict.quantities)
        if (one.key == key && one.group != "per_spacing")
            return &one;
    return nullptr;
}

std::string why_left_out(const Run& run) {
    if (!run.complete)
        return "it is incomplete";
    return run.seals_intact ? std::string{} : "its seals are broken";
}

} // namespace

Trend trend(const std::vector<Run>& runs, const measures::Reported& what) {
    Trend out;
    out.what = what;
    const std::string key = key_of(what);
    std::vector<double> values;
    for (const Run& run : runs)
        for (const Verdict& verdict : run.verdicts) {
            const Quantity* const found = find(verdict, key);
            if (found == nullptr)
                continue;
            if (const std::string why = why_left_out(run); !why.empty()) {
                out.left_out.push_back(fmt::format("{} of {}: {}.", run.file, run.started, why));
                continue;
            }
            out.points.push_back({run.run_id, run.file, run.started, run.calibration, *found});
            values.push_back(found->value);
        }
    out.chart = statistics::individuals_chart(values, measures::row_of(what.quantity).range);
    return out;
}

std::vector<Reported> usual_quantities(const std::vector<Run>& runs) {
    using Q = measures::Quantity;
    const Reported miss_index{Q::miss_index};
    const Reported corrected_miss{Q::miss_index, Aspect::corrected};
    const Reported offset{Q::offset_mm};
    const auto mode = runs.empty() ? std::nullopt : std::optional{runs.back().mode};
    if (mode == droplog::Mode::line)
        return {{Q::rate_error}, {Q::cv}};
    if (mode == droplog::Mode::portion)
        return {{Q::exact_share}, offset};
    const bool corrected = std::any_of(runs.begin(), runs.end(), [&](const Run& run) {
        return std::any_of(run.verdicts.begin(), run.verdicts.end(), [&](const Verdict& one) {
            return find(one, key_of(corrected_miss)) != nullptr;
        });
    });
    return corrected ? std::vector{miss_index, corrected_miss, offset}
                     : std::vector{miss_index, offset};
}

} // namespace dropledger::book
