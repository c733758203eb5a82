#include "analysis/report/words/plain.hpp"

#include "analysis/report/words/sentences.hpp"
#include "analysis/report/words/wording.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <utility>

namespace dropledger::report {

using measures::Quantity;
using verdict::Outcome;

namespace {

// What a limit that is not kept looks like, and where one begins to look.
enum class Fault { place, scatter, misses, multiples, counts, rate, evenness };

Fault fault_of(Quantity quantity) {
    switch (quantity) {
    case Quantity::offset_mm:
    case Quantity::bias_mm:
        return Fault::place;
    case Quantity::sd_mm:
    case Quantity::p95_abs_mm:
    case Quantity::within_allowance:
    case Quantity::precision:
    case Quantity::cp3_reference:
    case Quantity::cp3_fullest_band:
    case Quantity::mean_mm:
    case Quantity::spread_mm:
        return Fault::scatter;
    case Quantity::multiples_index:
    case Quantity::multiples:
    case Quantity::multiple_share:
        return Fault::multiples;
    case Quantity::exact_share:
    case Quantity::short_share:
    case Quantity::over_share:
    case Quantity::mean_count:
        return Fault::counts;
    case Quantity::rate_error:
    case Quantity::mean_per_m:
        return Fault::rate;
    case Quantity::cv:
    case Quantity::dispersion_index:
    case Quantity::longest_gap_mm:
        return Fault::evenness;
    case Quantity::quality_of_feed_index:
    case Quantity::quality_of_feed:
    case Quantity::miss_index:
    case Quantity::misses:
    case Quantity::miss_share:
    case Quantity::empty_share:
    case Quantity::efficiency:
        return Fault::misses;
    }
    throw BrokenInvariant("a quantity without a fault");
}

// Where the trade's name is not the workshop's.
constexpr std::array plain_names = std::to_array<std::pair<Quantity, std::string_view>>({
    {Quantity::miss_index, "misses"},
    {Quantity::multiples_index, "multiples"},
    {Quantity::miss_share, "misses per drop"},
    {Quantity::multiple_share, "multiples per drop"},
    {Quantity::quality_of_feed_index, "single seeds"},
    {Quantity::precision, "spread of spacings"},
    {Quantity::offset_mm, "offset"},
    {Quantity::bias_mm, "mean place"},
    {Quantity::sd_mm, "spread of places"},
    {Quantity::p95_abs_mm, "19 of 20 places within"},
    {Quantity::within_allowance, "places inside the allowance"},
    {Quantity::exact_share, "exact portions"},
    {Quantity::cv, "variation along the line"},
});

// A gate that overlooks seed and a meter that misses look alike where no other gate was compared.
std::string misses_next(const audit::ChannelReport& channel) {
    const std::string meter = "look at the meter: seed level, suction or brush, seals, disc";
    if (channel.gates || channel.sensor.judges_corrected)
        return meter;
    return fmt::format("{}; then at gate {}: a second gate or a calibration (calibrate efficiency) "
                       "tells whether it overlooks seed",
                       meter, channel.gate);
}

Advice by_fault(const audit::ChannelReport& channel, Quantity quantity) {
    switch (fault_of(quantity)) {
    case Fault::place:
        return {"all seeds land off their places by one amount",
                "check the gate's height and fall time and the lead as they were stated; then "
                "calibrate the lead (calibrate lead) and run again"};
    case Fault::scatter:
        return {"the places scatter",
                "look at the valve and its supply, the tube, and whether seed bounces"};
    case Fault::misses:
        return {"misses all along the run, at no cell in particular", misses_next(channel)};
    case Fault::multiples:
        return {"several seeds in a drop, at no cell in particular",
                "look at the singulator or wiper, at suction or brush, and at the cells' size"};
    case Fault::counts:
        return {"portions are not filled to their count",
                "look at the meter's setting, the seed level and the valve's opening time"};
    case Fault::rate:
        return {"the rate is not the target's", "set the meter's drive anew, then run again"};
    case Fault::evenness:
        return {"the line is uneven", "look at the meter, its drive and the tube"};
    }
    throw BrokenInvariant("a fault without advice");
}

std::optional<Advice> by_contradiction(const audit::AuditReport& report,
                                       std::optional<int> channel) {
    for (const audit::Contradicted& found : report.contradictions)
        if (found.channel == channel)
            return Advice{found.what, found.remedy};
    return std::nullopt;
}

// Of several units what holds for all is said once, before them.
std::optional<Advice> by_whole_run(const audit::AuditReport& report) {
    auto whole = by_contradiction(report, std::nullopt);
    if (whole && report.channels.size() > 1)
        return Advice{"held back by what is said of the whole run", ""};
    return whole;
}

const verdict::Criterion* first_with(const verdict::Judgement& judgement, Outcome outcome) {
    const auto at = std::find_if(
        judgement.criteria.begin(), judgement.criteria.end(),
        [&](const verdict::Criterion& criterion) { return criterion.outcome == outcome; });
    return at == judgement.criteria.end() ? nullptr : &*at;
}

// Beyond this hardly any run on the bench is sure to decide it.
bool takes_too_many(const verdict::Criterion& criterion, std::int64_t counted) {
    constexpr std::int64_t many = 5'000;
    constexpr std::int64_t times = 10;
    return criterion.more_drops > std::max(many, times * counted);
}

// A good deal below or above it, what stays wide is the range.
bool is_at_the_limit(const verdict::Criterion& criterion) {
    constexpr double near_by = 0.5; // of the limit
    return !criterion.estimate || std::abs(criterion.estimate->value - criterion.limit.value) <=
                                      near_by * std::abs(criterion.limit.value);
}

Advice for_undecided(const audit::AuditReport& report, const audit::ChannelReport& channel) {
    const verdict::Criterion* longest = nullptr;
    for (const verdict::Criterion& criterion : channel.judgement.criteria)
        if (criterion.outcome == Outcome::undecided &&
            (longest == nullptr || criterion.more_drops > longest->more_drops))
            longest = &criterion;
    if (longest == nullptr)
        return {channel.judgement.reason, ""};
    const std::string name = plain_name(longest->limit.quantity);
    const std::int64_t counted = channel.counted().count;
    const std::int64_t least = report.profile.least_drops;
    const bool can_tell = can_tell_how_many(report, *longest, counted);
    if (counted < least && (!can_tell || longest->more_drops <= least - counted))
        return {fmt::format("{}: too few drops yet", name),
                fmt::format("run {} or more: the profile asks for so many", least)};
    if (takes_too_many(*longest, counted))
        return is_at_the_limit(*longest)
                   ? Advice{fmt::format("{}: too near the limit for so few drops", name),
                            "run again, twice as long; where it stays so near, set the unit better"}
                   : Advice{fmt::format("{}: few, and close together, so their range stays wide",
                                        name),
                            "run again; if they come close together again, look for what lets the "
                            "unit miss for a moment"};
    if (!can_tell)
        return {fmt::format("{}: too few drops yet", name),
                "run for longer: " + deciding_words(report, *longest, counted)};
    if (longest->more_drops > 0)
        return {fmt::format("{}: too few drops yet", name),
                "run " + more_drops_words(report, *longest, counted)};
    return {fmt::format("{}: {}", name, longest->reason),
            by_fault(channel, longest->limit.quantity).next};
}

std::string named_at(const std::vector<std::string>& texts, const char* between) {
    std::string all;
    for (const std::string& text : texts)
        all += (all.empty() ? "" : between) + text;
    return all;
}

Advice by_causes(const std::vector<causes::Cause>& found) {
    constexpr std::size_t most = 2; // more would hide what to do first
    std::vector<std::string> what;
    std::vector<std::string> look;
    for (std::size_t i = 0; i < std::min(most, found.size()); ++i) {
        what.push_back(fmt::format("{}: {}", words_of(found[i].kind), found[i].evidence));
        look.push_back(found[i].look_at);
    }
    return {named_at(what, "; "), "look at: " + named_at(look, "; then at: ") + "; then run again"};
}

// The ledger's own share, where that decided and not the spacing index: long gaps, or no index.
std::optional<statistics::Estimate> deciding_share(const audit::ChannelReport& channel,
                                                   const verdict::Criterion& criterion) {
    const audit::SingleDrops* const single = channel.single();
    const Quantity quantity = criterion.limit.quantity;
    const bool of_misses = quantity == Quantity::miss_index;
    if (single == nullptr || (!of_misses && quantity != Quantity::multiples_index) ||
        criterion.outcome == Outcome::within || channel.pulses == 0)
        return std::nullopt;
    const auto& index = criterion.estimate ? criterion.estimate->interval : std::nullopt;
    const bool index_decides =
        index &&
        (criterion.outcome == Outcome::outside ? index->low : index->high) > criterion.limit.value;
    if (index_decides)
        return std::nullopt;
    return of_misses ? single->shares.miss : single->shares.multiple;
}

int direction_of(const audit::ChannelReport& channel) {
    return channel.placement() == nullptr ? 1 : channel.placement()->direction;
}

} // namespace

std::string plain_name(Quantity quantity) {
    for (const auto& [known, name] : plain_names)
        if (known == quantity)
            return std::string(name);
    return std::string(words_of(quantity));
}

std::string_view late_or_early(const statistics::Estimate& place_mm, int direction) {
    const auto& interval = place_mm.interval;
    if (!(std::abs(place_mm.value) > 0.0) ||
        (interval && interval->low <= 0.0 && interval->high >= 0.0))
        return "";
    return place_mm.value * direction > 0.0 ? "late" : "early";
}

std::string place_words(const statistics::Estimate& place_mm, int direction, int decimals) {
    const auto size = [&](double value) {
        return number(std::abs(value), Unit::millimetres, decimals);
    };
    const auto side = [&](double value, const char* unit) {
        const bool in_place = size(value) == size(0.0);
        return size(value) + unit + (in_place ? "" : value * direction > 0.0 ? " late" : " early");
    };
    const std::string value = side(place_mm.value, " mm");
    if (!place_mm.interval)
        return value + " (no interval)";
    const auto [low, high] = *place_mm.interval;
    if (low <= 0.0 && high >= 0.0)
        return fmt::format("{} ({} to {})", value, side(direction > 0 ? low : high, ""),
                           side(direction > 0 ? high : low, " mm"));
    const auto [least, most] = std::minmax({std::abs(low), std::abs(high)});
    return fmt::format("{} ({} to {})", value, number(least, Unit::millimetres, decimals),
                       with_unit(most, Unit::millimetres, decimals));
}

std::string plain_found(const audit::ChannelReport& channel, const verdict::Criterion& criterion) {
    const Quantity quantity = criterion.limit.quantity;
    const auto by_ledger = deciding_share(channel, criterion);
    const std::string name = plain_name(quantity) + (by_ledger ? " per drop" : "");
    if (!criterion.estimate && !by_ledger)
        return name + " not defined";
    const statistics::Estimate& found = by_ledger ? *by_ledger : *criterion.estimate;
    const Unit unit = unit_of(quantity);
    const int decimals = decimals_against(found, criterion.limit.value, unit);
    if (fault_of(quantity) == Fault::place)
        return fmt::format("{} {}", name, place_words(found, direction_of(channel), decimals));
    const std::string interval = interval_words(found, unit, decimals);
    return fmt::format("{} {} ({})", name, with_unit(found.value, unit, decimals),
                       interval.empty() ? "no interval" : interval);
}

std::string deciding_words(const audit::ChannelReport& channel) {
    const verdict::Judgement& judgement = channel.judgement;
    for (const Outcome outcome : {Outcome::outside, Outcome::undecided})
        if (const verdict::Criterion* const criterion = first_with(judgement, outcome))
            return fmt::format("{}, {}", plain_found(channel, *criterion),
                               limit_words(criterion->limit));
    const verdict::Criterion* const first = first_with(judgement, Outcome::within);
    return first == nullptr ? "" : plain_found(channel, *first);
}

std::string cause_words(const causes::Cause& cause) {
    return fmt::format("{}: {}. Look at: {}.", capitalised(std::string(words_of(cause.kind))),
                       cause.evidence, cause.look_at);
}

Advice advice(const audit::AuditReport& report, const audit::ChannelReport& channel) {
    const Outcome outcome = channel.judgement.outcome;
    if (outcome == Outcome::within || report.profile.limits.empty())
        return channel.causes.empty() ? Advice{} : by_causes(channel.causes);
    if (auto contradicted = by_contradiction(report, channel.channel))
        return *std::move(contradicted);
    if (!channel.causes.empty())
        return by_causes(channel.causes);
    if (auto contradicted = by_whole_run(report))
        return *std::move(contradicted);
    if (outcome == Outcome::outside)
        return by_fault(channel, first_with(channel.judgement, outcome)->limit.quantity);
    if (!report.from_spacings && !report.integrity.complete())
        return {channel.judgement.reason, "go on with the run (resume), or run again"};
    return for_undecided(report, channel);
}

std::vector<const audit::ChannelReport*> worst_first(const audit::AuditReport& report) {
    std::vector<const audit::ChannelReport*> order;
    for (const audit::ChannelReport& channel : report.channels)
        order.push_back(&channel);
    const auto rank = [](const audit::ChannelReport* channel) {
        switch (channel->judgement.outcome) {
        case Outcome::outside:
            return 0;
        case Outcome::undecided:
            return 1;
        case Outcome::within:
            return 2;
        }
        throw BrokenInvariant("an outcome without a rank");
    };
    std::stable_sort(order.begin(), order.end(),
                     [&](const auto* a, const auto* b) { return rank(a) < rank(b); });
    return order;
}

} // namespace dropledger::report
