#include "analysis/verdict/profile.hpp"

#include "analysis/base/text.hpp"

#include <fmt/format.h>
#include <toml++/toml.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <sstream>

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

// Reads one table of the file; the first thing wrong is kept, with its line.
class TableReader {
public:
    TableReader(const toml::table& table, std::string where)
        : table_(&table), where_(std::move(where)) {}

    [[nodiscard]] const std::optional<Error>& error() const { return error_; }

    void only(std::initializer_list<std::string_view> keys) {
        for (const auto& [key, value] : *table_)
            if (std::find(keys.begin(), keys.end(), key.str()) == keys.end())
                fail(value, fmt::format("unknown key '{}'", key.str()),
                     "correct its spelling or remove it");
    }

    std::optional<std::string> text(std::string_view key) {
        const toml::node* const node = table_->get(key);
        if (node == nullptr)
            return std::nullopt;
        if (const auto* const value = node->as_string())
            return value->get();
        fail(*node, fmt::format("{} is not a text", key), "put it in quotes");
        return std::nullopt;
    }

    std::optional<double> number(std::string_view key, double least, double greatest) {
        const toml::node* const node = table_->get(key);
        if (node == nullptr)
            return std::nullopt;
        const auto value = node->value<double>();
        if (value && std::isfinite(*value) && *value >= least && *value <= greatest)
            return value;
        fail(*node, fmt::format("{} = {} cannot be", key, shown(*node)),
             fmt::format("give a number from {} to {}", least, greatest));
        return std::nullopt;
    }

    std::optional<std::int64_t> whole_number(std::string_view key, double least, double greatest) {
        const auto value = number(key, least, greatest);
        if (!value || *value == std::floor(*value))
            return value ? std::optional{std::llround(*value)} : std::nullopt;
        fail(*table_->get(key), fmt::format("{} = {} is not a whole number", key, *value),
             "give a whole number");
        return std::nullopt;
    }

    const toml::table* table(std::string_view key) {
        const toml::node* const node = table_->get(key);
        if (node == nullptr)
            return nullptr;
        if (const auto* const inner = node->as_table())
            return inner;
        fail(*node, fmt::format("{} is not a table", key), fmt::format("write [{}]", key));
        return nullptr;
    }

    void missing(std::string_view key, std::string_view why) {
        fail(*table_, fmt::format("key '{}' is missing", key), std::string{why});
    }

    void fail(const toml::node& at, std::string what, std::string remedy) {
        if (!error_)
            error_ = Error{ErrorKind::input, fmt::format("{}:{}", where_, at.source().begin.line),
                           std::move(what), std::move(remedy)};
    }

    void take_over(const TableReader& inner) {
        if (!error_)
            error_ = inner.error_;
    }

private:
    static std::string shown(const toml::node& node) {
        std::ostringstream text;
        node.visit([&](const auto& value) { text << value; });
        return text.str();
    }

    const toml::table* table_;
    std::string where_;
    std::optional<Error> error_;
};

void read_limits(TableReader& reader, const toml::table& table, Profile& profile,
                 const std::string& where) {
    TableReader limits{table, where};
    const auto mode = static_cast<std::size_t>(profile.mode);
    for (const auto& [key, value] : table) {
        const auto* const known =
            std::find_if(known_limits.begin(), known_limits.end(),
                         [&, name = key.str()](const KnownLimit& k) { return k.key == name; });
        if (known == known_limits.end())
            limits.fail(value, fmt::format("unknown limit '{}'", key.str()),
                        "correct its spelling or remove it");
        else if (!known->in_mode[mode])
            limits.fail(value,
                        fmt::format("limit '{}' says nothing in mode {}", key.str(),
                                    ledger::name_of(profile.mode)),
                        "remove it, or correct the profile's mode");
        else if (const auto number = limits.number(known->key, known->least, known->greatest))
            profile.limits.push_back({std::string{known->key}, known->sense, *number});
    }
    for (const std::string_view key : mandatory_limits[mode])
        if (!table.contains(key))
            limits.missing(key, fmt::format("a profile for mode {} must state it",
                                            ledger::name_of(profile.mode)));
    reader.take_over(limits);
}

std::optional<SequentialLevels> read_levels(TableReader& reader, const toml::table& table,
                                            std::string_view good_key, std::string_view bad_key) {
    const auto good = reader.number(good_key, 0.0, 1.0);
    const auto bad = reader.number(bad_key, 0.0, 1.0);
    if (!good && !bad)
        return std::nullopt;
    if (!good || !bad)
        reader.missing(good ? bad_key : good_key, "both levels or none");
    else if (*good <= 0.0 || *good >= *bad || *bad >= 1.0)
        reader.fail(table,
                    fmt::format("{} = {} and {} = {} cannot be", good_key, *good, bad_key, *bad),
                    "0 < good < bad < 1");
    else
        return SequentialLevels{*good, *bad};
    return std::nullopt;
}

void read_sequential(TableReader& reader, const toml::table& table, Profile& profile,
                     const std::string& where) {
    TableReader inner{table, where};
    inner.only({"good_miss", "bad_miss", "good_multiples", "bad_multiples", "alpha", "beta",
                "most_drops"});
    Sequential sequential;
    sequential.miss = read_levels(inner, table, "good_miss", "bad_miss");
    sequential.multiples = read_levels(inner, table, "good_multiples", "bad_multiples");
    constexpr double least_risk = 1e-6;
    sequential.alpha = inner.number("alpha", least_risk, 0.5).value_or(sequential.alpha);
    sequential.beta = inner.number("beta", least_risk, 0.5).value_or(sequential.beta);
    if (const auto most = inner.whole_number("most_drops", 1, 1e9))
        sequential.most_drops = *most;
    else
        inner.missing("most_drops", "a test that may stop early needs a hard end");
    profile.sequential = sequential;
    reader.take_over(inner);
}

void read_numbers(TableReader& reader, Profile& profile) {
    if (const auto level = reader.number("confidence", 0.5, 0.9999))
        profile.confidence = Confidence{*level};
    if (const auto drops = reader.whole_number("least_drops", 1, 1e9))
        profile.least_drops = *drops;
    else
        reader.missing("least_drops", "a verdict needs a least number of drops (line: segments)");
    if (const auto segment = reader.number("segment_mm", 1, 1e5))
        profile.segment_um = std::llround(*segment * 1000.0);
    if (const auto allowance = reader.number("allowance_mm", 0.001, 1e5))
        profile.allowance_um = std::llround(*allowance * 1000.0);
}

} // namespace

Result<Profile> parse_profile(std::string_view text, const std::string& where) {
    toml::table table;
    try {
        table = toml::parse(text, where);
    } catch (const toml::parse_error& problem) {
        return Error{ErrorKind::input, fmt::format("{}:{}", where, problem.source().begin.line),
                     std::string{problem.description()}, "correct the TOML there"};
    }
    TableReader reader{table, where};
    reader.only({"name", "title", "mode", "confidence", "least_drops", "segment_mm", "allowance_mm",
                 "limits", "sequential"});
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
    if (const toml::table* const limits = reader.table("limits"))
        read_limits(reader, *limits, profile, where);
    else
        reader.missing("limits", "write a [limits] table");
    if (const toml::table* const sequential = reader.table("sequential"))
        read_sequential(reader, *sequential, profile, where);
    if (reader.error())
        return *reader.error();
    return profile;
}

Profile no_profile(ledger::Mode mode) {
    Profile profile;
    profile.mode = mode;
    return profile;
}

} // namespace dropledger::verdict
