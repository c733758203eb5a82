#include "analysis/verdict/profile.hpp"

#include "analysis/base/toml_table.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>

namespace dropledger::verdict {

namespace {

struct KnownLimit {
    std::string_view key;
    Sense sense;
    double least;
    double greatest;
    std::array<bool, 3> in_mode; // single, portion, line
};

constexpr double any_length_mm = 1e6;

constexpr std::array<KnownLimit, 13> known_limits{{
    {"miss_index", Sense::at_most, 0.0, 1.0, {true, false, false}},
    {"multiples_index", Sense::at_most, 0.0, 1.0, {true, false, false}},
    {"quality_of_feed_index", Sense::at_least, 0.0, 1.0, {true, false, false}},
    {"precision", Sense::at_most, 0.0, 0.5, {true, false, false}},
    {"empty_share", Sense::at_most, 0.0, 1.0, {false, true, false}},
    {"exact_share", Sense::at_least, 0.0, 1.0, {false, true, false}},
    {"spread_mm", Sense::at_most, 0.0, any_length_mm, {false, true, false}},
    {"offset_mm", Sense::magnitude_at_most, 0.0, any_length_mm, {true, true, false}},
    {"p95_abs_mm", Sense::at_most, 0.0, any_length_mm, {true, true, false}},
    {"within_allowance", Sense::at_least, 0.0, 1.0, {true, true, false}},
    {"cv", Sense::at_most, 0.0, 100.0, {false, false, true}},
    {"dispersion_index", Sense::at_most, 0.0, 1000.0, {false, false, true}},
    {"rate_error", Sense::magnitude_at_most, 0.0, 1.0, {false, false, true}},
}};

// Limits without which a profile says nothing about its mode.
constexpr std::array<std::array<std::string_view, 2>, 3> mandatory_limits{
    {{"miss_index", "multiples_index"}, {"empty_share", "exact_share"}, {"cv", "rate_error"}}};

void read_limits(TomlTable limits, Profile& profile) {
    const auto mode = static_cast<std::size_t>(profile.mode);
    for (const std::string& key : limits.keys()) {
        const auto* const known = std::find_if(known_limits.begin(), known_limits.end(),
                                               [&](const KnownLimit& k) { return k.key == key; });
        if (known == known_limits.end())
            limits.fail(key, fmt::format("unknown limit '{}'", key),
                        "correct its spelling or remove it");
        else if (!known->in_mode[mode])
            limits.fail(key,
                        fmt::format("limit '{}' says nothing in mode {}", key,
                                    ledger::name_of(profile.mode)),
                        "remove it, or correct the profile's mode");
        else if (const auto number = limits.number(known->key, known->least, known->greatest))
            profile.limits.push_back({std::string{known->key}, known->sense, *number});
    }
    for (const std::string_view key : mandatory_limits[mode])
        if (!limits.has(key))
            limits.missing(key, fmt::format("a profile for mode {} must state it",
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
