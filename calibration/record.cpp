#include "calibration/record.hpp"

#include "analysis/base/text.hpp"

#include <fmt/format.h>
#include <toml++/toml.h>

#include <algorithm>
#include <cmath>
#include <sstream>

namespace dropledger::calibration {

using statistics::Estimate;
using statistics::Interval;

namespace {

// Keeps the first thing wrong, with its line.
class Reader {
public:
    explicit Reader(std::string where) : where_(std::move(where)) {}

    void fail(const toml::node& at, std::string what, std::string remedy) {
        if (!error)
            error = Error{ErrorKind::input, fmt::format("{}:{}", where_, at.source().begin.line), std::move(what),
                          std::move(remedy)};
    }
    void only(const toml::table& table, std::initializer_list<std::string_view> keys) {
        for (const auto& [key, value] : table)
            if (std::find(keys.begin(), keys.end(), key.str()) == keys.end())
                fail(value, fmt::format("unknown key '{}'", key.str()), "correct its spelling or remove it");
    }
    const toml::table* table(const toml::table& in, std::string_view key) {
        const toml::node* const node = in.get(key);
        if (node != nullptr && node->as_table() == nullptr)
            fail(*node, fmt::format("{} is not a table", key), fmt::format("write [{}]", key));
        return node == nullptr ? nullptr : node->as_table();
    }
    std::string text(const toml::table& in, std::string_view key, bool needed) {
        const toml::node* const node = in.get(key);
        if (node == nullptr || node->as_string() == nullptr) {
            if (node != nullptr || needed)
                fail(node != nullptr ? *node : in, fmt::format("'{}' is missing or no text", key), "put it in quotes");
            return {};
        }
        return node->as_string()->get();
    }
    std::string date(const toml::table& in, std::string_view key) {
        std::string found = text(in, key, true);
        if (!error && !is_date(found))
            fail(*in.get(key), fmt::format("{} = \"{}\" is no date", key, found), "write \"YYYY-MM-DD\"");
        return found;
    }
    double number(const toml::table& in, std::string_view key, Interval range) {
        const toml::node* const node = in.get(key);
        const auto value = node == nullptr ? std::nullopt : node->value<double>();
        if (value && std::isfinite(*value) && *value >= range.low && *value <= range.high)
            return *value;
        fail(node == nullptr ? in : *node, fmt::format("'{}' is missing, or not a number from {} to {}", key, range.low, range.high),
             "correct it, or calibrate anew");
        return range.low;
    }

    std::optional<Error> error;

private:
    std::string where_;
};

constexpr Interval any{-1e12, 1e12};
constexpr Interval not_negative{0.0, 1e12};
constexpr Interval share{0.0, 1.0};

HoldsFor read_holds_for(Reader& reader, const toml::table& table) {
    reader.only(table, {"bench", "unit", "crop", "gate", "seed_mm_low", "seed_mm_high"});
    HoldsFor out;
    out.bench = reader.text(table, "bench", false);
    out.unit = reader.text(table, "unit", false);
    out.crop = reader.text(table, "crop", false);
    out.gate = static_cast<int>(reader.number(table, "gate", share));
    if (table.contains("seed_mm_low") || table.contains("seed_mm_high"))
        out.seed_mm = Interval{reader.number(table, "seed_mm_low", not_negative),
                               reader.number(table, "seed_mm_high", not_negative)};
    return out;
}

Estimate read_efficiency(Reader& reader, const toml::table& table) {
    constexpr Interval level{1e-6, 1.0 - 1e-6};
    reader.only(table, {"value", "low", "high", "confidence", "method"});
    Estimate out;
    out.value = reader.number(table, "value", {1e-3, 1.0});
    const Interval interval{reader.number(table, "low", share), reader.number(table, "high", share)};
    out.interval = interval;
    out.confidence = Confidence{reader.number(table, "confidence", level)};
    out.method = reader.text(table, "method", true);
    if (interval.low > out.value || interval.high < out.value)
        reader.fail(table, "the efficiency does not lie in its interval", "low <= value <= high");
    return out;
}

ValueWithU read_value(Reader& reader, const toml::table& table, const std::string& name, const std::string& unit) {
    return {reader.number(table, name + unit, any), reader.number(table, name + "_u" + unit, not_negative)};
}

LeadValues read_lead(Reader& reader, const toml::table& table) {
    reader.only(table, {"lag_us", "lag_u_us", "offset_mm", "offset_u_mm", "covariance_us_mm", "lead_to_set_us"});
    LeadValues out;
    out.lag_us = read_value(reader, table, "lag", "_us");
    out.offset_mm = read_value(reader, table, "offset", "_mm");
    out.covariance_us_mm = reader.number(table, "covariance_us_mm", any);
    if (table.contains("lead_to_set_us"))
        out.lead_to_set_us = std::llround(reader.number(table, "lead_to_set_us", any));
    return out;
}

PulseClass read_class(Reader& reader, const toml::table& table) {
    constexpr Interval spread{1e-6, 100.0};
    reader.only(table, {"seeds", "weight", "width_mean", "width_sd", "depth_mean", "depth_sd"});
    return {.seeds = static_cast<std::uint32_t>(reader.number(table, "seeds", {0.0, 3.0})),
            .weight = reader.number(table, "weight", {1e-12, 1.0}),
            .width_mean = reader.number(table, "width_mean", any),
            .width_sd = reader.number(table, "width_sd", spread),
            .depth_mean = reader.number(table, "depth_mean", any),
            .depth_sd = reader.number(table, "depth_sd", spread)};
}

void read_classes(Reader& reader, const toml::table& root, Record& record) {
    const toml::node* const node = root.get("pulse_class");
    if (node == nullptr)
        return;
    Classifier found;
    const toml::array* const list = node->as_array();
    for (std::size_t i = 0; list != nullptr && i < list->size(); ++i)
        if (const toml::table* const table = list->get(i)->as_table())
            found.classes.push_back(read_class(reader, *table));
    if (list == nullptr || found.classes.size() != list->size() || found.of(1) == nullptr)
        return reader.fail(*node, "pulse_class is not a list of classes with one of a single seed",
                           "write [[pulse_class]], or calibrate anew");
    record.classifier = std::move(found);
}

void read_inputs(Reader& reader, const toml::table& root, Record& record) {
    const toml::node* const node = root.get("input");
    if (node == nullptr)
        return;
    const toml::array* const list = node->as_array();
    if (list == nullptr)
        return reader.fail(*node, "input is not a list of tables", "write [[input]]");
    for (const toml::node& one : *list) {
        const toml::table* const table = one.as_table();
        if (table == nullptr)
            return reader.fail(one, "input is not a list of tables", "write [[input]]");
        reader.only(*table, {"file", "sha256"});
        record.inputs.push_back({reader.text(*table, "file", true), reader.text(*table, "sha256", true)});
    }
}

Record read(Reader& reader, const toml::table& root) {
    reader.only(root, {"schema", "id", "date", "expires", "holds_for", "efficiency", "flight", "lead", "pulse_class", "input"});
    Record record;
    if (reader.text(root, "schema", true) != "dropledger/calibration/1")
        reader.fail(root, "not a calibration record", "schema = \"dropledger/calibration/1\" is expected");
    record.id = reader.text(root, "id", true);
    record.date = reader.date(root, "date");
    record.expires = reader.date(root, "expires");
    if (const auto* const table = reader.table(root, "holds_for"))
        record.holds_for = read_holds_for(reader, *table);
    else
        reader.fail(root, "no [holds_for]", "a calibration says what it holds for");
    if (const auto* const table = reader.table(root, "efficiency"))
        record.efficiency = read_efficiency(reader, *table);
    if (const auto* const table = reader.table(root, "flight")) {
        reader.only(*table, {"flight_us", "flight_u_us"});
        record.flight_us = read_value(reader, *table, "flight", "_us");
    }
    if (const auto* const table = reader.table(root, "lead"))
        record.lead = read_lead(reader, *table);
    read_classes(reader, root, record);
    read_inputs(reader, root, record);
    return record;
}

toml::table holds_for_toml(const HoldsFor& holds) {
    toml::table out;
    for (const auto& [key, value] : {std::pair{"bench", &holds.bench}, std::pair{"unit", &holds.unit},
                                     std::pair{"crop", &holds.crop}})
        if (!value->empty())
            out.insert(key, *value);
    out.insert("gate", holds.gate);
    if (holds.seed_mm) {
        out.insert("seed_mm_low", holds.seed_mm->low);
        out.insert("seed_mm_high", holds.seed_mm->high);
    }
    return out;
}

toml::table lead_toml(const LeadValues& lead) {
    toml::table out{{"lag_us", lead.lag_us.value},
                    {"lag_u_us", lead.lag_us.u},
                    {"offset_mm", lead.offset_mm.value},
                    {"offset_u_mm", lead.offset_mm.u},
                    {"covariance_us_mm", lead.covariance_us_mm}};
    if (lead.lead_to_set_us)
        out.insert("lead_to_set_us", *lead.lead_to_set_us);
    return out;
}

toml::array classes_toml(const Classifier& classifier) {
    toml::array out;
    for (const PulseClass& one : classifier.classes)
        out.push_back(toml::table{{"seeds", static_cast<std::int64_t>(one.seeds)},
                                  {"weight", one.weight},
                                  {"width_mean", one.width_mean},
                                  {"width_sd", one.width_sd},
                                  {"depth_mean", one.depth_mean},
                                  {"depth_sd", one.depth_sd}});
    return out;
}

} // namespace

bool is_date(std::string_view text) {
    if (text.size() != 10 || text[4] != '-' || text[7] != '-')
        return false;
    const auto month = parse_uint(text.substr(5, 2));
    const auto day = parse_uint(text.substr(8, 2));
    return parse_uint(text.substr(0, 4)) && month && day && *month >= 1 && *month <= 12 && *day >= 1 && *day <= 31;
}

Result<Record> parse_record(std::string_view text, const std::string& where) {
    toml::table root;
    try {
        root = toml::parse(text, where);
    } catch (const toml::parse_error& problem) {
        return Error{ErrorKind::input, fmt::format("{}:{}", where, problem.source().begin.line),
                     std::string{problem.description()}, "correct the TOML there"};
    }
    Reader reader(where);
    Record record = read(reader, root);
    if (reader.error)
        return *reader.error;
    return record;
}

std::string to_toml(const Record& record) {
    toml::table root{{"schema", "dropledger/calibration/1"},
                     {"id", record.id},
                     {"date", record.date},
                     {"expires", record.expires},
                     {"holds_for", holds_for_toml(record.holds_for)}};
    if (record.efficiency) {
        if (!record.efficiency->interval)
            throw BrokenInvariant("an efficiency without interval in a calibration record");
        root.insert("efficiency", toml::table{{"value", record.efficiency->value},
                                              {"low", record.efficiency->interval->low},
                                              {"high", record.efficiency->interval->high},
                                              {"confidence", record.efficiency->confidence.level()},
                                              {"method", record.efficiency->method}});
    }
    if (record.flight_us)
        root.insert("flight",
                    toml::table{{"flight_us", record.flight_us->value}, {"flight_u_us", record.flight_us->u}});
    if (record.lead)
        root.insert("lead", lead_toml(*record.lead));
    if (record.classifier)
        root.insert("pulse_class", classes_toml(*record.classifier));
    toml::array inputs;
    for (const InputFile& input : record.inputs)
        inputs.push_back(toml::table{{"file", input.file}, {"sha256", input.sha256}});
    if (!inputs.empty())
        root.insert("input", inputs);
    std::ostringstream out;
    out << root << '\n';
    return out.str();
}

Result<Record> joined(Record kept, const Record& added) {
    const HoldsFor& a = kept.holds_for;
    const HoldsFor& b = added.holds_for;
    if (kept.id != added.id || a.bench != b.bench || a.unit != b.unit || a.crop != b.crop || a.gate != b.gate)
        return Error{ErrorKind::usage, "option --write",
                     fmt::format("the file holds calibration {} (unit '{}', gate {}, crop '{}', bench '{}'), not {} "
                                 "(unit '{}', gate {}, crop '{}', bench '{}')",
                                 kept.id, a.unit, a.gate, a.crop, a.bench, added.id, b.unit, b.gate, b.crop, b.bench),
                     "write to another file, or say the same --id and what it holds for"};
    kept.date = added.date;
    kept.expires = added.expires;
    if (b.seed_mm)
        kept.holds_for.seed_mm = b.seed_mm;
    if (added.efficiency)
        kept.efficiency = added.efficiency;
    if (added.flight_us)
        kept.flight_us = added.flight_us;
    if (added.lead)
        kept.lead = added.lead;
    if (added.classifier)
        kept.classifier = added.classifier;
    for (const InputFile& input : added.inputs)
        if (std::none_of(kept.inputs.begin(), kept.inputs.end(),
                         [&](const InputFile& known) { return known.sha256 == input.sha256; }))
            kept.inputs.push_back(input);
    return kept;
}

} // namespace dropledger::calibration
