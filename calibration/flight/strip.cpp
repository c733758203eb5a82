#include "calibration/flight/strip.hpp"

#include "analysis/base/readers/csv_table.hpp"
#include "analysis/base/results.hpp"
#include "analysis/base/text.hpp"
#include "analysis/droplog/reader.hpp"
#include "analysis/droplog/settings.hpp"
#include "calibration/flight/strip_match.hpp"
#include "calibration/lead/travel_step.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <numeric>

namespace dropledger::calibration {

namespace {

constexpr std::size_t most_pulses = 20'000; // a strip is some metres long

struct Knot {
    std::int64_t time_us = 0;
    std::int64_t position_um = 0;
};

struct Channel {
    std::vector<std::int64_t> pulses_us;
    std::vector<StripDrop> drops;
};

class StripCollector final : public droplog::Consumer {
public:
    explicit StripCollector(int gate) : gate_(gate) {}

    void begin(const droplog::Header& header) override { header_ = header; }
    void reboot() override { rebooted_ = true; }
    void take(const droplog::Event& event) override {
        const droplog::Record& record = event.record;
        if (record.name == droplog::LineName::travel)
            knots_.push_back({event.time_us, record.position_um});
        if (record.name == droplog::LineName::drop)
            channels_[record.channel].drops.push_back(
                {static_cast<std::int64_t>(record.index), record.position_um});
        if (record.name == droplog::LineName::pulse && record.gate == gate_ &&
            channels_[record.channel].pulses_us.size() <= most_pulses)
            channels_[record.channel].pulses_us.push_back(event.time_us);
    }

    void sort() {
        std::sort(knots_.begin(), knots_.end(),
                  [](const Knot& a, const Knot& b) { return a.time_us < b.time_us; });
        for (auto& [number, channel] : channels_)
            std::sort(channel.pulses_us.begin(), channel.pulses_us.end());
    }

    [[nodiscard]] const droplog::Header& header() const { return header_; }
    [[nodiscard]] bool rebooted() const { return rebooted_; }
    [[nodiscard]] const std::vector<Knot>& knots() const { return knots_; }
    [[nodiscard]] const std::map<int, Channel>& channels() const { return channels_; }

private:
    int gate_;
    droplog::Header header_;
    bool rebooted_ = false;
    std::vector<Knot> knots_;
    std::map<int, Channel> channels_;
};

// Nothing where travel says nothing, or stands.
std::optional<StripPulse> pulse_at(const std::vector<Knot>& knots, std::int64_t time_us) {
    if (knots.size() < 2)
        return std::nullopt;
    auto after =
        std::upper_bound(knots.begin(), knots.end(), time_us,
                         [](std::int64_t time, const Knot& knot) { return time < knot.time_us; });
    after = std::clamp(after, knots.begin() + 1, knots.end() - 1);
    const Knot& from = *(after - 1);
    const auto duration_us = static_cast<double>(after->time_us - from.time_us);
    const auto distance_um = static_cast<double>(after->position_um - from.position_um);
    if (!(duration_us > 0.0) || distance_um == 0.0)
        return std::nullopt;
    const double speed = distance_um / duration_us;
    return StripPulse{(static_cast<double>(from.position_um) +
                       speed * static_cast<double>(time_us - from.time_us)) /
                          1000.0,
                      speed};
}

Result<int> chosen_channel(const StripCollector& log, const StripWhere& where) {
    std::vector<int> candidates;
    for (const auto& [number, channel] : log.channels())
        if ((!where.channel || *where.channel == number) && !channel.pulses_us.empty())
            candidates.push_back(number);
    if (candidates.empty())
        return input_error(where.file, fmt::format("gate {} saw nothing", where.gate),
                           "name the gate that saw the seeds: `gate`");
    if (candidates.size() > 1)
        return usage_error(where.file,
                           fmt::format("channels {} all have pulses", fmt::join(candidates, ", ")),
                           "say which with `channel`");
    return candidates.front();
}

Status check_log(const StripCollector& log, const StripWhere& where, int channel) {
    const std::string* const place =
        log.header().find(channel, fmt::format("gate{}_place", where.gate));
    if (place != nullptr && droplog::gate_place_of(*place) == droplog::GatePlace::above)
        return input_error(
            where.file, fmt::format("gate {} sits above the valve: seeds wait there", where.gate),
            "the flight time is that of a gate below the valve");
    if (log.rebooted())
        return input_error(where.file, "the controller started anew during the run",
                           "make the run over the strip again");
    if (log.channels().at(channel).pulses_us.size() > most_pulses)
        return input_error(where.file, fmt::format("more than {} pulses", most_pulses),
                           "a strip is some metres long");
    return Done{};
}

std::int64_t step_um(const std::vector<Knot>& knots) {
    std::int64_t step = 0;
    for (std::size_t i = 1; i < knots.size(); ++i)
        step = std::gcd(step, knots[i].position_um - knots[i - 1].position_um);
    return step;
}

Result<RuleReading> reading_of(const CsvTable& table, const CsvRow& row) {
    const auto landing = table.number(row, 0);
    if (!landing)
        return landing.error();
    RuleReading out{std::nullopt, *landing};
    if (!table.has(1))
        return out;
    out.drop = parse_int(row.fields[1]);
    if (!out.drop || *out.drop < 0)
        return table.problem(row, fmt::format("drop is '{}'", row.fields[1]),
                             "a whole number from 0, as in the log");
    return out;
}

std::optional<double> expected_us(const StripCollector& log, const StripWhere& where, int channel) {
    if (where.expected_us)
        return where.expected_us;
    const auto of_log = log.header().number(channel, fmt::format("gate{}_fall_us", where.gate));
    return of_log ? std::optional{static_cast<double>(*of_log)} : std::nullopt;
}

// Landing less travel position, if flight and zero are as expected.
std::optional<double> expected_shift_mm(const std::vector<StripPulse>& pulses,
                                        std::optional<double> flight_us,
                                        std::optional<double> zero_mm) {
    if (!flight_us || !zero_mm || pulses.empty())
        return std::nullopt;
    double speed = 0.0;
    for (const StripPulse& pulse : pulses)
        speed += pulse.speed_mps / static_cast<double>(pulses.size());
    return speed * *flight_us / 1000.0 - *zero_mm;
}

std::vector<StripPulse> placed(const StripCollector& log, const Channel& channel) {
    std::vector<StripPulse> out;
    for (const std::int64_t time_us : channel.pulses_us)
        if (const auto pulse = pulse_at(log.knots(), time_us))
            out.push_back(*pulse);
    return out;
}

Result<StripCollector> collected(const OpenBytes& open, const StripWhere& where) {
    StripCollector log(where.gate);
    return open()
        .and_then([&](const auto& source) { return droplog::read_log(*source, where.file, log); })
        .transform([&](const droplog::Reading&) {
            log.sort();
            return std::move(log);
        });
}

} // namespace

Result<std::vector<RuleReading>> read_rule(std::string_view text, const std::string& file) {
    auto readings = CsvTable::read(text, file, {.needed = {"landing_mm"}, .optional = {"drop"}})
                        .and_then([](const CsvTable& table) {
                            return each(table.rows(),
                                        [&](const CsvRow& row) { return reading_of(table, row); });
                        });
    if (readings && readings->empty())
        return input_error(file, "no landings in it", "one row a seed");
    return readings;
}

Result<Strip> match_strip(const OpenBytes& open, const StripWhere& where,
                          const std::vector<RuleReading>& readings) {
    const auto log = collected(open, where);
    if (!log)
        return log.error();
    const auto number = chosen_channel(*log, where);
    if (!number)
        return number.error();
    if (const Status status = check_log(*log, where, *number); !status)
        return status.error();
    const Channel& channel = log->channels().at(*number);
    const std::vector<StripPulse> pulses = placed(*log, channel);
    const auto flight_us = expected_us(*log, where, *number);
    auto pairs =
        readings.front().drop
            ? Result<StripPairs>(
                  pairs_by_number(pulses, channel.drops, readings, flight_us.value_or(0.0)))
            : pairs_by_place(pulses, readings, expected_shift_mm(pulses, flight_us, where.zero_mm),
                             where.file);
    if (!pairs)
        return pairs.error();
    Strip out{
        .file = where.file, .unit = {}, .channel = *number, .matched = std::move(pairs->matched)};
    if (const std::string* const unit = log->header().find(*number, "unit"))
        out.unit = *unit;
    out.pulses = static_cast<std::int64_t>(channel.pulses_us.size());
    out.readings = static_cast<std::int64_t>(readings.size());
    out.several = pairs->several;
    out.stated_us = log->header().number(*number, fmt::format("gate{}_fall_us", where.gate));
    out.flight_taken_small = readings.front().drop && !flight_us;
    out.step_mm = travel_step_mm(step_um(log->knots()));
    if (out.matched.size() < 3)
        return input_error(
            where.file,
            fmt::format("{} of {} landings match a pulse", out.matched.size(), out.readings),
            "check that rule and travel count the same way and that the table is of this run");
    return out;
}

} // namespace dropledger::calibration
