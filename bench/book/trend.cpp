#include "bench/book/trend.hpp"

#include <fmt/format.h>

#include <algorithm>

namespace dropledger::book {

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

bool is_share(const std::string& key) {
    return key == "miss_index" || key == "multiples_index" || key == "quality_of_feed_index" ||
           key == "corrected_miss" || key == "exact_share" || key == "within_allowance" ||
           key == "efficiency";
}

statistics::NaturalRange range_of(const std::string& key) {
    if (is_share(key))
        return {0.0, 1.0};
    const bool magnitude = key == "precision" || key == "cv" || key == "dispersion_index" ||
                           key == "mean_per_m" || key == "sd_mm" || key == "p95_abs_mm" ||
                           key == "mean_count" || key == "spread_mm";
    return magnitude ? statistics::NaturalRange{0.0, {}} : statistics::NaturalRange{};
}

} // namespace

Trend trend(const std::vector<Run>& runs, const std::string& key) {
    Trend out;
    out.key = key;
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
    out.chart = statistics::individuals_chart(values, range_of(key));
    return out;
}

std::vector<std::string> usual_quantities(const std::vector<Run>& runs) {
    const std::string mode = runs.empty() ? "single" : runs.back().mode;
    if (mode == "line")
        return {"rate_error", "cv"};
    if (mode == "portion")
        return {"exact_share", "offset_mm"};
    const bool corrected = std::any_of(runs.begin(), runs.end(), [](const Run& run) {
        return std::any_of(run.verdicts.begin(), run.verdicts.end(), [](const Verdict& one) {
            return find(one, "corrected_miss") != nullptr;
        });
    });
    return corrected ? std::vector<std::string>{"miss_index", "corrected_miss", "offset_mm"}
                     : std::vector<std::string>{"miss_index", "offset_mm"};
}

} // namespace dropledger::book
