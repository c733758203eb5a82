#include "analysis/audit/before_after.hpp"

#include "analysis/audit/compared_unit.hpp"
#include "analysis/droplog/flaw.hpp"
#include "analysis/measures/number_words.hpp"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>

namespace dropledger::audit {

namespace {

std::string length_or_unknown(const std::optional<std::int64_t>& length_um) {
    return length_um ? length_words(*length_um) : std::string("not stated");
}

std::string speed_words(const std::optional<std::int64_t>& speed_um_s) {
    return speed_um_s ? trimmed_number(static_cast<double>(*speed_um_s) * 1e-6) + " m/s"
                      : std::string("not stated");
}

// What the two runs must have in common, in words; empty where they do.
std::string difference_in_setup(const AuditReport& before, const AuditReport& after) {
    const ledger::RunSetup& was = before.setup;
    const ledger::RunSetup& is = after.setup;
    if (was.mode != is.mode)
        return fmt::format("its mode is {}, and was {}", name_of(is.mode), name_of(was.mode));
    if (before.profile.name != after.profile.name ||
        before.profile.limits != after.profile.limits ||
        before.profile.confidence.level() != after.profile.confidence.level())
        return fmt::format("it is judged by other limits: {}, and was by {}", after.profile.name,
                           before.profile.name);
    if (was.spacing_um != is.spacing_um)
        return fmt::format("its spacing is {}, and was {}", length_or_unknown(is.spacing_um),
                           length_or_unknown(was.spacing_um));
    if (was.speed_um_s != is.speed_um_s)
        return fmt::format("its speed is {}, and was {}", speed_words(is.speed_um_s),
                           speed_words(was.speed_um_s));
    if (was.count != is.count || was.rate_per_m_milli != is.rate_per_m_milli)
        return "its seeds a portion or a metre are others";
    return {};
}

Status check_run(const AuditReport& run) {
    const auto refused = [&](std::string what, const char* remedy) {
        return input_error(run.file, std::move(what), remedy);
    };
    if (run.from_spacings)
        return refused("it is a list of spacings", "compare two logs of the bench");
    const droplog::Integrity& log = run.integrity;
    std::vector<std::string> wrong;
    for (const droplog::FoundFlaw& flaw : log.flaws())
        wrong.push_back(droplog::in_words(flaw));
    if (!log.complete() || !log.seals.intact || log.bad_signature || !log.contradictions().empty())
        return refused(
            fmt::format("the log is not whole, or does not hold: {}", fmt::join(wrong, "; ")),
            "compare complete runs with unbroken seals");
    return Done{};
}

Status check_both(const AuditReport& before, const AuditReport& after) {
    for (const AuditReport* const run : {&before, &after})
        if (const Status whole = check_run(*run); !whole)
            return whole;
    const auto refused = [&](std::string what, const char* remedy) {
        return input_error(after.file, std::move(what), remedy);
    };
    if (before.run_id == after.run_id)
        return refused("it is the same run as " + before.file, "name two runs");
    if (after.started < before.started)
        return refused("it began before " + before.file, "name the earlier run first");
    if (const std::string other = difference_in_setup(before, after); !other.empty())
        return refused("not comparable with " + before.file + ": " + other,
                       "run the units again as they ran then");
    return Done{};
}

// By name; a unit that a run has twice is none of them.
const ChannelReport* unit_in(const AuditReport& run, const std::string& unit) {
    const ChannelReport* found = nullptr;
    for (const ChannelReport& channel : run.channels)
        if (channel.unit == unit) {
            if (found != nullptr)
                return nullptr;
            found = &channel;
        }
    return found;
}

std::vector<std::string> cautions_of(const AuditReport& before, const AuditReport& after) {
    std::vector<std::string> cautions;
    for (const auto& [key, words] : {std::pair{"bench", "bench"},
                                     {"crop", "crop"},
                                     {"seed_lot", "seed lot"},
                                     {"operator", "operator"}})
        if (const auto was = stated(before, key), is = stated(after, key); was != is)
            cautions.push_back(fmt::format("The {} is another one: {}, and was {}.", words,
                                           is.empty() ? "not stated" : is,
                                           was.empty() ? "not stated" : was));
    cautions.emplace_back("Two runs show that something has changed, not what changed it: seed, "
                          "weather and whatever else was done in between count too.");
    return cautions;
}

// Both runs, worked through unit by unit.
class Comparison {
public:
    Comparison(const AuditReport& before, const AuditReport& after)
        : before_(before), after_(after) {
        for (const ChannelReport& channel : after.channels)
            if (!channel.unit.empty())
                add(channel.unit);
        for (const ChannelReport& channel : before.channels)
            if (!channel.unit.empty() && unit_in(after, channel.unit) == nullptr)
                found_.not_in_both.push_back(channel.unit);
    }

    [[nodiscard]] Result<BeforeAfter> result() {
        if (pairs_.empty())
            return input_error(after_.file, "it has no unit in common with " + before_.file,
                               "compare two runs of the same units, each with its name");
        found_.before = {before_.file, before_.run_id, before_.started, before_.started_here};
        found_.after = {after_.file, after_.run_id, after_.started, after_.started_here};
        found_.cautions = cautions_of(before_, after_);
        found_.confidence = after_.profile.confidence.level();
        found_.comparisons = comparisons();
        const Confidence each{
            1.0 - (1.0 - found_.confidence) /
                      static_cast<double>(std::max<std::size_t>(1, found_.comparisons))};
        for (const UnitPair& pair : pairs_)
            found_.units.push_back(pair.compared(each));
        return std::move(found_);
    }

private:
    void add(const std::string& name) {
        const ChannelReport* const was = unit_in(before_, name);
        const ChannelReport* const is = unit_in(after_, name);
        if (was == nullptr || is == nullptr)
            found_.not_in_both.push_back(name);
        else
            pairs_.emplace_back(UnitInRun{before_, *was}, UnitInRun{after_, *is});
    }

    // Of all units that could have been picked by their result.
    [[nodiscard]] std::size_t comparisons() const {
        std::size_t most = 0;
        for (const UnitPair& pair : pairs_)
            most = std::max(most, pair.comparable());
        return most * std::max(before_.channels.size(), after_.channels.size());
    }

    const AuditReport& before_;
    const AuditReport& after_;
    BeforeAfter found_;
    std::vector<UnitPair> pairs_;
};

} // namespace

Result<BeforeAfter> before_and_after(const AuditReport& before, const AuditReport& after) {
    if (const Status fit = check_both(before, after); !fit)
        return fit.error();
    return Comparison(before, after).result();
}

} // namespace dropledger::audit
