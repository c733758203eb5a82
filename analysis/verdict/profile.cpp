#include "analysis/verdict/profile.hpp"

#include "analysis/base/nearest.hpp"
#include "analysis/base/readers/toml_table.hpp"

#include <fmt/format.h>

#include <array>
#include <cmath>

namespace dropledger::verdict {

namespace {

// Limits without which a profile says nothing about its mode.
constexpr std::array<std::array<Quantity, 2>, 3> mandatory_limits{
    {{Quantity::miss_index, Quantity::multiples_index},
     {Quantity::empty_share, Quantity::exact_share},
     {Quantity::cv, Quantity::rate_error}}};

std::string what_to_do_about(std::string_view key, ledger::Mode mode) {
    std::vector<std::string_view> known;
    for (const Quantity quantity : measures::limited_quantities(mode))
        known.push_back(key_of(quantity));
    if (const auto meant = nearest(key, known))
        return fmt::format("did you mean {}?", *meant);
    return "correct its spelling or remove it";
}

void read_limit(TomlTable& limits, const std::string& key, Profile& profile) {
    const std::optional<Quantity> quantity = measures::quantity_of(key);
    if (!quantity) {
        limits.fail(key, fmt::format("unknown limit '{}'", key),
                    what_to_do_about(key, profile.mode));
        return;
    }
    const measures::QuantityRow& row = measures::row_of(*quantity);
    if (!row.most_limit)
        limits.fail(key, fmt::format("limit '{}': no verdict rests on {}", key, row.words),
                    what_to_do_about(key, profile.mode));
    else if (!row.modes.has(profile.mode))
        limits.fail(
            key,
            fmt::format("limit '{}' says nothing in mode {}", key, ledger::name_of(profile.mode)),
            "remove it, or correct the profile's mode");
    else if (const auto number = limits.number(row.key, 0.0, *row.most_limit))
        profile.limits.push_back({*quantity, *number});
}

void read_limits(TomlTable limits, Profile& profile) {
    for (const std::string& key : limits.keys())
        read_limit(limits, key, profile);
    for (const Quantity quantity : mandatory_limits[static_cast<std::size_t>(profile.mode)])
        if (!limits.has(key_of(quantity)))
            limits.missing(key_of(quantity), fmt::format("a profile for mode {} must state it",
                                                         ledger::name_of(profile.mode)));
}

std::optional<SequentialLevels> read_levels(TomlTable& reader, std::string_view good_key,
                                            std::string_view bad_key) {
    const auto good = reader.number(good_key, 0.0, 1.0);
    const auto bad = reader.number(bad_key, 0.0, 1.0);
    if (!good && !bad)
        return std::nullopt;
    if (!good || !bad)
        reader.missing(good ? bad_key : good_key, "both levels or none");
    else if (*good <= 0.0 || *good >= *bad || *bad >= 1.0)
        reader.fail({},
                    fmt::format("{} = {} and {} = {} cannot be", good_key, *good, bad_key, *bad),
                    "0 < good < bad < 1");
    else
        return SequentialLevels{*good, *bad};
    return std::nullopt;
}

void read_sequential(TomlTable inner, Profile& profile) {
    inner.only({"good_miss", "bad_miss", "good_multiples", "bad_multiples", "alpha", "beta",
                "most_drops"});
    Sequential sequential;
    sequential.miss = read_levels(inner, "good_miss", "bad_miss");
    sequential.multiples = read_levels(inner, "good_multiples", "bad_multiples");
    constexpr double least_risk = 1e-6;
    sequential.alpha = inner.number("alpha", least_risk, 0.5).value_or(sequential.alpha);
    sequential.beta = inner.number("beta", least_risk, 0.5).value_or(sequential.beta);
    if (const auto most = inner.whole_number("most_drops", 1, 1e9))
        sequential.most_drops = *most;
    else
        inner.missing("most_drops", "a test that may stop early needs a hard end");
    profile.sequential = sequential;
}

void read_siblings(TomlTable inner, SiblingDifference& least) {
    constexpr double any_length_mm = 1e6;
    inner.only({"least_share", "least_mm"});
    least.share = inner.number("least_share", 0.0, 1.0).value_or(least.share);
    least.mm = inner.number("least_mm", 0.0, any_length_mm).value_or(least.mm);
}

void read_numbers(TomlTable& reader, Profile& profile) {
    if (const auto level = reader.number("confidence", 0.5, 0.9999))
        profile.confidence = Confidence{*level};
    if (const auto drops = reader.whole_number("least_drops", 1, 1e9))
        profile.least_drops = *drops;
    else
        reader.missing("least_drops", "a verdict needs a least number of drops (line: segments)");
    if (const auto events = reader.whole_number("least_events", 1, 1000))
        profile.least_events = *events;
    if (const auto segment = reader.number("segment_mm", 1, 1e5))
        profile.segment_um = std::llround(*segment * 1000.0);
    if (const auto allowance = reader.number("allowance_mm", 0.001, 1e5))
        profile.allowance_um = std::llround(*allowance * 1000.0);
}

} // namespace

Sense Limit::sense() const {
    const std::optional<Sense> good = measures::row_of(quantity).good;
    if (!good)
        throw BrokenInvariant(fmt::format("a limit of {}", key_of(quantity)));
    return *good;
}

std::optional<double> Profile::limit_of(Quantity quantity) const {
    for (const Limit& limit : limits)
        if (limit.quantity == quantity)
            return limit.value;
    return std::nullopt;
}

Result<Profile> parse_profile(std::string_view text, const std::string& where) {
    auto document = TomlDocument::parse(text, where);
    if (!document)
        return document.error();
    TomlTable reader = document->root();
    reader.only({"name", "title", "mode", "confidence", "least_drops", "least_events", "segment_mm",
                 "allowance_mm", "limits", "sequential", "siblings"});
    Profile profile;
    profile.name = reader.text("name").value_or("");
    profile.title = reader.text("title").value_or(profile.name);
    if (profile.name.empty())
        reader.missing("name", "a profile is known by its name");
    const auto mode = ledger::mode_of(reader.text("mode").value_or(""));
    if (!mode)
        reader.missing("mode", "single, portion or line");
    profile.mode = mode.value_or(ledger::Mode::single);
    read_numbers(reader, profile);
    if (const auto limits = reader.table("limits"))
        read_limits(*limits, profile);
    else
        reader.missing("limits", "write a [limits] table");
    if (const auto sequential = reader.table("sequential"))
        read_sequential(*sequential, profile);
    if (const auto siblings = reader.table("siblings"))
        read_siblings(*siblings, profile.least_difference);
    if (document->problem())
        return *document->problem();
    return profile;
}

Profile no_profile(ledger::Mode mode) {
    Profile profile;
    profile.mode = mode;
    return profile;
}

} // namespace dropledger::verdict
