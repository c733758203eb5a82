#include "calibration/lead/field_passes.hpp"

#include "analysis/field/input/ground.hpp"
#include "analysis/measures/block_moments.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <set>

namespace dropledger::calibration {

namespace {

using field::FieldDrop;

constexpr std::int64_t fewest_offsets = 20;

struct Heading {
    double east = 0.0;
    double north = 0.0;
    double length_m = 0.0;
};

struct Pass {
    std::int64_t number = 0;
    LeadRun run;
    Heading heading;
    double unsteady = 0.0; // spread of the speed over the pass, share of it
};

Result<std::int64_t> row_of(const field::Field& field, const std::string& file,
                            std::optional<std::int64_t> asked) {
    std::set<std::int64_t> rows;
    for (const auto& [key, drops] : field.lines)
        if (!asked || *asked == key.row)
            rows.insert(key.row);
    if (rows.size() == 1)
        return *rows.begin();
    if (rows.empty())
        return input_error(file, asked ? fmt::format("no row {}", *asked) : "no drops in it",
                           "name a row of the table");
    return usage_error(
        file, fmt::format("rows {}, and each valve has its own lag", fmt::join(rows, ", ")),
        "say which with `row`");
}

// A flat picture of a pass: good enough to tell there from back.
Heading heading_of(const FieldDrop& first, const FieldDrop& last, bool geographic) {
    constexpr double per_degree = 3.14159265358979323846 / 180.0;
    const double shrink = geographic ? std::cos(first.at.y * per_degree) : 1.0;
    const double east = (last.at.x - first.at.x) * shrink;
    const double north = last.at.y - first.at.y;
    const double length = std::hypot(east, north);
    if (!(length > 0.0))
        return {};
    return {east / length, north / length, field::distance_m(first.at, last.at, geographic)};
}

std::optional<double> speed_between(const FieldDrop& from, const FieldDrop& to, bool geographic) {
    const double seconds = to.time_s - from.time_s;
    return seconds > 0.0 ? std::optional{field::distance_m(from.at, to.at, geographic) / seconds}
                         : std::nullopt;
}

// Over tenths of the pass, against the whole.
double unsteadiness(const std::vector<FieldDrop>& drops, double speed_mps, bool geographic) {
    constexpr std::size_t parts = 10;
    double worst = 0.0;
    for (std::size_t part = 0; part < parts; ++part) {
        const std::size_t low = part * (drops.size() - 1) / parts;
        const std::size_t high = (part + 1) * (drops.size() - 1) / parts;
        if (const auto speed = speed_between(drops[low], drops[high], geographic))
            worst = std::max(worst, std::fabs(*speed - speed_mps) / speed_mps);
    }
    return worst;
}

std::optional<statistics::Estimate> mean_offset_um(const std::vector<FieldDrop>& drops) {
    measures::BlockMoments offsets;
    for (const FieldDrop& drop : drops)
        if (drop.has_offset)
            offsets.add(std::llround(static_cast<double>(drop.offset_mm) * 1000.0));
    return offsets.count() >= fewest_offsets ? offsets.mean_estimate(Confidence{0.95})
                                             : std::nullopt;
}

std::optional<Pass> pass_of(const field::LineKey& key, const std::vector<FieldDrop>& drops,
                            bool geographic, const std::string& file) {
    const auto mean = mean_offset_um(drops);
    if (!mean || !mean->interval)
        return std::nullopt;
    const auto speed = speed_between(drops.front(), drops.back(), geographic);
    if (!speed || !(*speed > 0.0))
        return std::nullopt;
    Pass pass;
    pass.number = key.pass;
    pass.heading = heading_of(drops.front(), drops.back(), geographic);
    pass.unsteady = unsteadiness(drops, *speed, geographic);
    pass.run.name = fmt::format("{} pass {}", file, key.pass);
    pass.run.speed_mps = *speed;
    pass.run.error_mm = mean->value / 1000.0;
    constexpr double least_mm = 0.001; // all offsets alike
    pass.run.u_mm = std::max(least_mm, *standard_uncertainty(*mean) / 1000.0);
    pass.run.drops = static_cast<std::int64_t>(drops.size());
    return pass;
}

// Sets each pass's direction against the first one that is long enough to have a heading; those
// that cross it are dropped.
void keep_parallel(std::vector<Pass>& passes, std::vector<std::string>& notes) {
    constexpr double nearly = 0.94; // cosine of 20 degrees
    const double longest =
        std::max_element(passes.begin(), passes.end(), [](const Pass& a, const Pass& b) {
            return a.heading.length_m < b.heading.length_m;
        })->heading.length_m;
    const Pass& first = *std::find_if(passes.begin(), passes.end(), [&](const Pass& pass) {
        return pass.heading.length_m >= 0.5 * longest;
    });
    const Heading along = first.heading;
    notes.push_back(fmt::format("Errors and the offset are counted in the direction of pass {}.",
                                first.number));
    const auto cosine = [&](const Pass& pass) {
        return pass.heading.east * along.east + pass.heading.north * along.north;
    };
    const auto crosses = [&](const Pass& pass) { return std::fabs(cosine(pass)) < nearly; };
    const auto crossing = std::count_if(passes.begin(), passes.end(), crosses);
    if (crossing > 0)
        notes.push_back(fmt::format(
            "{} passes run neither along that one nor against it: left out.", crossing));
    passes.erase(std::remove_if(passes.begin(), passes.end(), crosses), passes.end());
    for (Pass& pass : passes)
        pass.run.direction = cosine(pass) > 0.0 ? 1 : -1;
}

Status check_ways(const std::vector<Pass>& passes, const std::string& file) {
    const auto back = std::count_if(passes.begin(), passes.end(),
                                    [](const Pass& pass) { return pass.run.direction < 0; });
    if (back > 0 && back < static_cast<std::ptrdiff_t>(passes.size()))
        return Done{};
    return input_error(
        file,
        fmt::format("all {} passes run one way, so it can't be told what stays where "
                    "it is on the ground (an antenna "
                    "or a map that is off) from what lies behind the machine (a lag)",
                    passes.size()),
        "drive the same piece back too; logs of runs on a bench need no way back");
}

void add_notes(const std::vector<Pass>& passes, FieldPasses& out) {
    constexpr double unsteady = 0.1;
    for (const Pass& pass : passes)
        if (pass.unsteady > unsteady)
            out.notes.push_back(fmt::format(
                "Pass {}: the speed strayed up to {:.0f} % from its mean; a lag is reckoned with "
                "the mean.",
                pass.number, 100.0 * pass.unsteady));
}

} // namespace

Result<FieldPasses> field_passes(const field::Field& field, const std::string& file,
                                 std::optional<std::int64_t> row) {
    if (!field.has_offsets || !field.has_time)
        return input_error(
            file, field.has_time ? "no offset_mm in it" : "no time in it, so no speed",
            "a lag needs where seeds landed against where they were commanded, and when");
    const auto chosen = row_of(field, file, row);
    if (!chosen)
        return chosen.error();
    FieldPasses out;
    std::vector<Pass> passes;
    std::int64_t too_few = 0;
    for (const auto& [key, line] : field.lines) {
        if (key.row != *chosen)
            continue;
        if (auto pass = pass_of(key, line.drops(), field.geographic, file))
            passes.push_back(*std::move(pass));
        else
            ++too_few;
    }
    if (too_few > 0)
        out.notes.push_back(
            fmt::format("{} passes have fewer than {} offsets, or no speed: left out.", too_few,
                        fewest_offsets));
    if (passes.empty())
        return input_error(
            file,
            fmt::format("no pass of row {} has {} offsets and a speed", *chosen, fewest_offsets),
            "measure more landings");
    keep_parallel(passes, out.notes);
    if (const Status status = check_ways(passes, file); !status)
        return status.error();
    add_notes(passes, out);
    for (Pass& pass : passes)
        out.runs.push_back(std::move(pass.run));
    return out;
}

} // namespace dropledger::calibration
