#include "analysis/base/readers/or_null.hpp"
#include "bench/commands/calibrate/calibrate.hpp"
#include "bench/commands/calibrate/way.hpp"
#include "bench/commands/shell/usage.hpp"
#include "bench/io/file_source.hpp"
#include "calibration/classifier/classifier.hpp"
#include "calibration/classifier/gate_pulses.hpp"
#include "calibration/efficiency/counting_loss.hpp"

#include <fmt/format.h>

#include <cmath>
#include <memory>

namespace dropledger::cli {

namespace {

using namespace dropledger::calibration;
using Json = nlohmann::ordered_json;

struct Options : WayOptions {
    std::string log;
    std::int64_t gate = 1;
    std::int64_t seed = 1;
};

struct Findings {
    GatePulses pulses;
    ClassifierFit fit;
    double counted_per_s = 0.0;
    double pulse_s = 0.0;        // typical of a single seed
    double found_overlaps = 0.0; // share of seed pulses that hold several
    Overlap expected;
    std::optional<double> not_extending;
    std::optional<double> extending;
};

Result<Findings> find(const Options& options) {
    if (const Status known = check_gate(options.gate); !known)
        return known.error();
    if (options.seed < 0)
        return usage("--seed", "a seed below 0", "any whole number from 0");
    auto pulses = gate_pulses(files::open_file(options.log), options.log,
                              static_cast<int>(options.gate), channel_of(options));
    if (!pulses)
        return pulses.error();
    auto fit = fit_classifier(pulses->shapes, static_cast<std::uint64_t>(options.seed));
    if (!fit)
        return fit.error();
    Findings out;
    out.pulses = *std::move(pulses);
    out.fit = *std::move(fit);
    const auto& counts = out.fit.counts;
    const auto seed_pulses = static_cast<double>(counts[1] + counts[2] + counts[3]);
    const double seeds = static_cast<double>(counts[1] + 2 * counts[2] + 3 * counts[3]);
    out.pulse_s = std::exp(out.fit.classifier.of(1)->width_mean) / 1e6;
    if (seed_pulses > 0.0)
        out.found_overlaps = static_cast<double>(counts[2] + counts[3]) / seed_pulses;
    if (out.pulses.seconds > 0.0) {
        out.counted_per_s = static_cast<double>(out.fit.pulses) / out.pulses.seconds;
        out.expected = overlap(seeds / out.pulses.seconds, out.pulse_s);
        const double dead_s = static_cast<double>(out.pulses.dead_us.value_or(0)) / 1e6;
        out.not_extending = rate_not_extending(out.counted_per_s, dead_s);
        out.extending = rate_extending(out.counted_per_s, dead_s);
    }
    return out;
}

Json json_of(const Findings& found) {
    Json json{{"schema", "dropledger/calibrate-classifier/1"}};
    json["channel"] = found.pulses.channel;
    json["pulses"] = found.fit.pulses;
    json["classes"] = Json::array();
    for (const PulseClass& one : found.fit.classifier.classes)
        json["classes"].push_back({{"seeds", one.seeds},
                                   {"weight", one.weight},
                                   {"log_width_mean", one.width_mean},
                                   {"log_width_sd", one.width_sd},
                                   {"log_attenuation_mean", one.depth_mean},
                                   {"log_attenuation_sd", one.depth_sd}});
    json["counts"] = found.fit.counts;
    json["tried"] = Json::array();
    for (const auto& [name, bic] : found.fit.tried)
        json["tried"].push_back({{"classes", name}, {"bic", bic}});
    json["overlap"] = {{"found", found.found_overlaps},
                       {"expected_at_random", found.expected.share_followed}};
    json["dead_time"] = {{"counted_per_s", found.counted_per_s},
                         {"dead_us", or_null(found.pulses.dead_us)},
                         {"not_extending_per_s", or_null(found.not_extending)},
                         {"extending_per_s", or_null(found.extending)}};
    json["threshold"] = {{"depth_milli", found.fit.threshold_milli},
                         {"dust_passed", found.fit.dust_passed},
                         {"seeds_lost", found.fit.seeds_lost}};
    return json;
}

std::string text_of(const Findings& found) {
    TextPage page;
    page.add("{} pulses; of the mixtures tried the lowest BIC has {}\n", found.fit.pulses,
             found.fit.tried.front().first);
    page.add("{:>8} {:>8} {:>12} {:>8} {:>10}\n", "seeds", "share", "width us", "depth", "counted");
    for (const PulseClass& one : found.fit.classifier.classes)
        page.add("{:>8} {:>7.2f}% {:>12.0f} {:>8.3f} {:>10}\n",
                 one.seeds == 0 ? "dust" : fmt::format("{}", one.seeds), 100.0 * one.weight,
                 std::exp(one.width_mean), -std::expm1(-std::exp(one.depth_mean)),
                 found.fit.counts.at(one.seeds));
    page.add("Pulses with several seeds: {:.2f} % found; {:.2f} % expected of random arrivals at "
             "this rate (a metered "
             "flow has fewer)\n",
             100.0 * found.found_overlaps, 100.0 * found.expected.share_followed);
    if (found.pulses.dead_us && found.not_extending)
        page.add("Rate {:.4f} /s counted, {:.4f} /s with the dead time of {} us corrected\n",
                 found.counted_per_s, *found.not_extending, *found.pulses.dead_us);
    page.add("Gate threshold: depth {} thousandths; {:.2f} % of dust is deeper, {:.2f} % of "
             "single seeds shallower\n",
             found.fit.threshold_milli, 100.0 * found.fit.dust_passed,
             100.0 * found.fit.seeds_lost);
    constexpr double much = 0.1;
    if (found.fit.dust_passed > much)
        page.add("Depth alone does not part this dust from seeds: leave the threshold and use "
                 "the classifier.\n");
    return page.text();
}

Status write(const Options& options, const Findings& found) {
    calibration::Record record;
    record.holds_for.gate = static_cast<int>(options.gate);
    record.classifier = found.fit.classifier;
    return write_record(options.record, std::move(record),
                        {{options.log}, {}, found.pulses.channel});
}

} // namespace

void add_calibrate_classifier(Command& calibrate) {
    const auto options = std::make_shared<Options>();
    Command command = calibrate.subcommand(
        "classifier", "how many seeds a pulse holds, from its width and depth");
    add_write_options(command, options->record);
    command.option("LOG", options->log, "droplog of one seed lot")
        .required("LOG")
        .option("--gate", options->gate, "which gate")
        .option("--channel", options->channel, "which channel, where several have that gate")
        .option("--seed", options->seed, "of the starts; the same seed gives the same classes")
        .manual("calibrate_classifier");
    answers(
        command, options,
        Answer<Options, Findings>{.find = find, .json = json_of, .text = text_of, .keep = write});
}

} // namespace dropledger::cli
