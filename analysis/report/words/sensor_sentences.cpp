#include "analysis/report/words/sensor_sentences.hpp"

#include "analysis/base/cases.hpp"
#include "analysis/report/words/wording.hpp"

#include <fmt/format.h>

#include <cmath>

namespace dropledger::report {

using ledger::Mode;
using measures::Quantity;
using statistics::Estimate;

namespace {

std::string percents(const Estimate& estimate) {
    if (!estimate.interval)
        return fmt::format("{:.1f} %", 100.0 * estimate.value);
    return fmt::format("{:.1f} % ({:.1f} to {:.1f} %)", 100.0 * estimate.value,
                       100.0 * estimate.interval->low, 100.0 * estimate.interval->high);
}

std::string percents(const std::optional<Estimate>& estimate) {
    return estimate ? percents(*estimate) : "not defined";
}

// "3 of 10 seeds", in numbers that one can picture.
std::string overlooked_words(double efficiency) {
    constexpr double near_enough = 0.1;
    const double overlooked = std::max(0.0, 1.0 - efficiency);
    for (const int of : {10, 20, 50, 100, 200, 500, 1000})
        if (const auto seeds = std::llround(overlooked * of);
            seeds > 0 && std::fabs(static_cast<double>(seeds) - overlooked * of) <=
                             near_enough * overlooked * of)
            return fmt::format("about {} of {} seeds", seeds, of);
    return "hardly a seed";
}

std::string as_seen_and_corrected(const audit::SensorCorrection& one, const std::string& what) {
    return fmt::format("{}: {} as seen, {} with the overlooked seeds put back.", what,
                       percents(one.observed), percents(one.corrected.estimate));
}

std::string for_single(const audit::Sensor& sensor, const measures::LedgerTable& table) {
    const audit::SensorCorrection* const miss = sensor.correction(Quantity::miss_index);
    if (miss == nullptr)
        return sensor.contradicted ? "The run contradicts it, so nothing is corrected."
                                   : "No drops: there is nothing to correct.";
    std::string words =
        fmt::format("So a drop without a pulse need not be a miss of the unit: {} of {} drops of "
                    "this run showed no pulse",
                    grouped(table.miss), grouped(table.drops));
    if (const auto& empty = sensor.empty_drops)
        words += fmt::format(", and of those {} to {} had no seed indeed",
                             grouped(std::llround(empty->low)), grouped(std::llround(empty->high)));
    return words + ". " + as_seen_and_corrected(*miss, "Misses per drop");
}

std::string for_portion(const audit::Sensor& sensor) {
    const audit::SensorCorrection* const exact = sensor.correction(Quantity::exact_share);
    if (exact == nullptr)
        return "So a portion that looks short may be a full one. Shares of portions are not "
               "corrected here: targets differ "
               "from drop to drop, or the gate overlooks too much for portions of so many seeds.";
    return "So a portion that looks short may be a full one. " +
           as_seen_and_corrected(*exact, "Exact portions") +
           " Seeds that hide behind each other in the beam are another matter: the pulse "
           "classifier counts those.";
}

std::string for_line(const audit::Sensor& sensor) {
    std::string words =
        "So the line looks thinner than it is, and its seeds strewn more by chance.";
    if (const audit::SensorCorrection* const rate = sensor.correction(Quantity::rate_error))
        words += " " + as_seen_and_corrected(*rate, "Rate error");
    if (const audit::SensorCorrection* const cv = sensor.correction(Quantity::cv))
        words += " " + as_seen_and_corrected(*cv, "Variation along the line");
    return words +
           " The longest gap stays as seen: where in it a seed was overlooked is not known.";
}

std::string by_mode(const audit::ChannelReport& channel) {
    const audit::Sensor& sensor = channel.sensor;
    return std::visit(Cases{[&](const audit::SingleDrops& single) {
                                return for_single(sensor, single.drops.table);
                            },
                            [&](const audit::Portions&) { return for_portion(sensor); },
                            [&](const measures::LineResult&) { return for_line(sensor); },
                            [](const measures::SpacingResult&) -> std::string {
                                throw BrokenInvariant("a list of spacings has no gate");
                            }},
                      channel.results);
}

std::string source_words(const audit::EfficiencySource& source) {
    if (source.found_by.empty())
        return "The calibration does not say how this efficiency was found.";
    return fmt::format("This efficiency was found by {}. {}", source.found_by, source.assumption);
}

// What the two gates say of each other on this very run.
std::vector<std::string> comparison_sentences(const audit::ChannelReport& channel) {
    const auto& gates = channel.gates;
    if (!gates)
        return {};
    std::string words = fmt::format(
        "Both gates on this run: gate {}, which judges, saw {} seeds, gate {} saw {}", channel.gate,
        grouped(gates->judging_seeds), gates->other_gate, grouped(gates->other_seeds));
    if (gates->judging_efficiency)
        words += fmt::format("; of the drops where gate {} saw seed, gate {} saw it in {}",
                             gates->other_gate, channel.gate, percents(*gates->judging_efficiency));
    words += ".";
    return {gates->assumption.empty() ? words : words + " " + gates->assumption};
}

std::string what_is_judged(Mode mode) {
    if (mode == Mode::single)
        return "Misses, multiples and singles, per commanded drop,";
    return mode == Mode::portion ? "Empty and exact portions" : "Rate and evenness";
}

std::string verdict_words(const audit::ChannelReport& channel) {
    const audit::Sensor& sensor = channel.sensor;
    if (!sensor.judges_corrected)
        return "The verdict goes by what was seen.";
    std::string words = fmt::format("{} are judged with the overlooked seeds put back.",
                                    what_is_judged(channel.mode()));
    const verdict::Outcome outcome = channel.judgement.outcome;
    if (!sensor.outcome_as_seen || *sensor.outcome_as_seen == outcome)
        return words;
    words += fmt::format(" By what the gate saw alone the unit would be {}",
                         verdict::name_of(*sensor.outcome_as_seen));
    if (outcome == verdict::Outcome::within)
        words += ": that would blame the unit for what the gate overlooks";
    if (outcome == verdict::Outcome::outside)
        words += ": what the gate overlooks would hide what the unit does";
    return words + ".";
}

} // namespace

std::vector<std::string> sensor_sentences(const audit::ChannelReport& channel) {
    const audit::Sensor& sensor = channel.sensor;
    if (!sensor.efficiency)
        return comparison_sentences(channel);
    std::vector<std::string> out;
    out.push_back(
        fmt::format("Gate {} counts {} of the seeds (calibration {}): it overlooks {}. {}",
                    channel.gate, percents(*sensor.efficiency), sensor.calibration,
                    overlooked_words(sensor.efficiency->value), by_mode(channel)));
    out.push_back(verdict_words(channel));
    out.push_back(source_words(sensor.source));
    constexpr double poor = 0.9;
    if (sensor.efficiency->value < poor)
        out.push_back(fmt::format(
            "Gate {} itself needs care: clean its beam, look at its alignment and threshold, then "
            "calibrate anew. Seed dust may be treated: follow the seed label.",
            channel.gate));
    for (std::string& sentence : comparison_sentences(channel))
        out.push_back(std::move(sentence));
    return out;
}

} // namespace dropledger::report
