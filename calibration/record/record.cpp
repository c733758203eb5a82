#include "calibration/record/record.hpp"

#include "analysis/base/dates.hpp"
#include "analysis/base/readers/toml_table.hpp"

#include <fmt/format.h>
#include <toml++/toml.h>

#include <algorithm>
#include <cmath>
#include <sstream>

namespace dropledger::calibration {

using statistics::Estimate;
using statistics::Interval;

namespace {

constexpr Interval any{-1e12, 1e12};
constexpr Interval not_negative{0.0, 1e12};
constexpr Interval share{0.0, 1.0};

std::string needed_text(TomlTable& table, std::string_view key) {
    auto found = table.text(key);
    if (!found)
        table.missing(key, "put it in quotes");
    return std::move(found).value_or("");
}

std::string needed_date(TomlTable& table, std::string_view key) {
    std::string found = needed_text(table, key);
    if (!is_date(found))
        table.fail(key, fmt::format("{} = \"{}\" is no date", key, found), "write \"YYYY-MM-DD\"");
    return found;
}

double needed(TomlTable& table, std::string_view key, Interval range) {
    const auto found = table.number(key, range.low, range.high);
    if (!found)
        table.missing(key, "add it, or calibrate anew");
    return found.value_or(range.low);
}

HoldsFor read_holds_for(TomlTable table) {
    table.only({"bench", "unit", "crop", "gate", "seed_mm_low", "seed_mm_high"});
    HoldsFor out;
    out.bench = table.text("bench").value_or("");
    out.unit = table.text("unit").value_or("");
    out.crop = table.text("crop").value_or("");
    out.gate = static_cast<int>(needed(table, "gate", share));
    if (table.has("seed_mm_low") || table.has("seed_mm_high"))
        out.seed_mm = Interval{needed(table, "seed_mm_low", not_negative),
                               needed(table, "seed_mm_high", not_negative)};
    return out;
}

Estimate read_efficiency(TomlTable table) {
    constexpr Interval level{1e-6, 1.0 - 1e-6};
    table.only(
        {"value", "low", "high", "confidence", "method", "found_by", "assumption", "figures"});
    Estimate out;
    out.value = needed(table, "value", {1e-3, 1.0});
    const Interval interval{needed(table, "low", share), needed(table, "high", share)};
    out.interval = interval;
    out.confidence = Confidence{needed(table, "confidence", level)};
    out.method = needed_text(table, "method");
    if (interval.low > out.value || interval.high < out.value)
        table.fail({}, "the efficiency does not lie in its interval", "low <= value <= high");
    return out;
}

constexpr Interval any_count{0.0, 1e12};

std::int64_t count_in(TomlTable& table, std::string_view key) {
    return std::llround(needed(table, key, any_count));
}

Figures read_figures(FoundBy found_by, TomlTable table) {
    if (found_by == FoundBy::hand_count) {
        table.only({"dropped", "seen"});
        return HandCount{count_in(table, "dropped"), count_in(table, "seen")};
    }
    if (found_by == FoundBy::weighing) {
        table.only({"mass_g", "mass_u_g", "thousand_g", "thousand_u_g", "pulses"});
        return Weighing{.mass_g = needed(table, "mass_g", not_negative),
                        .mass_u_g = needed(table, "mass_u_g", not_negative),
                        .thousand_g = needed(table, "thousand_g", not_negative),
                        .thousand_u_g = needed(table, "thousand_u_g", not_negative),
                        .pulses = count_in(table, "pulses")};
    }
    table.only({"both", "first", "second", "joint_odds"});
    return TwoGateCount{
        {count_in(table, "both"), count_in(table, "first"), count_in(table, "second")},
        needed(table, "joint_odds", {1.0, 1000.0})};
}

std::optional<EfficiencySource> read_source(TomlTable table) {
    const auto text = table.text("found_by");
    if (!text)
        return std::nullopt;
    const auto found_by = value_named(found_by_names, *text);
    if (!found_by)
        table.fail("found_by", fmt::format("'{}' is no way to find an efficiency", *text),
                   "hand count, weighing or two gates");
    EfficiencySource source{
        found_by.value_or(FoundBy::hand_count), table.text("assumption").value_or(""), {}};
    if (const auto figures = table.table("figures"))
        source.figures = read_figures(source.found_by, *figures);
    return source;
}

ValueWithU read_value(TomlTable& table, const std::string& name, const std::string& unit) {
    return {needed(table, name + unit, any), needed(table, name + "_u" + unit, not_negative)};
}

ValueWithU read_flight(TomlTable table) {
    table.only({"flight_us", "flight_u_us"});
    return read_value(table, "flight", "_us");
}

LeadValues read_lead(TomlTable table) {
    table.only(
        {"lag_us", "lag_u_us", "offset_mm", "offset_u_mm", "covariance_us_mm", "lead_to_set_us"});
    LeadValues out;
    out.lag_us = read_value(table, "lag", "_us");
    out.offset_mm = read_value(table, "offset", "_mm");
    out.covariance_us_mm = needed(table, "covariance_us_mm", any);
    if (const auto lead_us = table.number("lead_to_set_us", any.low, any.high))
        out.lead_to_set_us = std::llround(*lead_us);
    return out;
}

PulseClass read_class(TomlTable table) {
    constexpr Interval spread{1e-6, 100.0};
    table.only({"seeds", "weight", "width_mean", "width_sd", "depth_mean", "depth_sd"});
    return {.seeds = static_cast<std::uint32_t>(needed(table, "seeds", {0.0, 3.0})),
            .weight = needed(table, "weight", {1e-12, 1.0}),
            .width_mean = needed(table, "width_mean", any),
            .width_sd = needed(table, "width_sd", spread),
            .depth_mean = needed(table, "depth_mean", any),
            .depth_sd = needed(table, "depth_sd", spread)};
}

void read_classes(TomlTable& root, Record& record) {
    if (!root.has("pulse_class"))
        return;
    Classifier found;
    for (const TomlTable& one : root.tables("pulse_class"))
        found.classes.push_back(read_class(one));
    if (found.of(1) == nullptr)
        return root.fail("pulse_class", "no pulse_class of a single seed", "calibrate anew");
    record.classifier = std::move(found);
}

void read_inputs(TomlTable& root, Record& record) {
    for (TomlTable one : root.tables("input")) {
        one.only({"file", "sha256", "channel"});
        InputFile input{needed_text(one, "file"), needed_text(one, "sha256"), {}};
        if (const auto channel = one.number("channel", 0.0, 255.0))
            input.channel = static_cast<int>(*channel);
        record.inputs.push_back(std::move(input));
    }
}

Record read(TomlTable root) {
    root.only({"schema", "id", "date", "expires", "holds_for", "efficiency", "flight", "lead",
               "pulse_class", "input"});
    Record record;
    if (needed_text(root, "schema") != "dropledger/calibration/1")
        root.fail({}, "not a calibration record",
                  "schema = \"dropledger/calibration/1\" is expected");
    record.id = needed_text(root, "id");
    record.date = needed_date(root, "date");
    record.expires = needed_date(root, "expires");
    if (const auto table = root.table("holds_for"))
        record.holds_for = read_holds_for(*table);
    else
        root.fail({}, "no [holds_for]", "a calibration says what it holds for");
    if (const auto table = root.table("efficiency")) {
        record.efficiency = read_efficiency(*table);
        record.efficiency_source = read_source(*table);
    }
    if (const auto table = root.table("flight"))
        record.flight_us = read_flight(*table);
    if (const auto table = root.table("lead"))
        record.lead = read_lead(*table);
    read_classes(root, record);
    read_inputs(root, record);
    return record;
}

toml::table holds_for_toml(const HoldsFor& holds) {
    toml::table out;
    for (const auto& [key, value] :
         {std::pair{"bench", &holds.bench}, std::pair{"unit", &holds.unit},
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

struct FiguresToml {
    toml::table operator()(const TwoGateCount& count) const {
        return toml::table{{"both", count.seen.both},
                           {"first", count.seen.first},
                           {"second", count.seen.second},
                           {"joint_odds", count.greatest_odds}};
    }
    toml::table operator()(const HandCount& count) const {
        return toml::table{{"dropped", count.dropped}, {"seen", count.seen}};
    }
    toml::table operator()(const Weighing& weighing) const {
        return toml::table{{"mass_g", weighing.mass_g},
                           {"mass_u_g", weighing.mass_u_g},
                           {"thousand_g", weighing.thousand_g},
                           {"thousand_u_g", weighing.thousand_u_g},
                           {"pulses", weighing.pulses}};
    }
};

toml::table efficiency_toml(const Record& record) {
    toml::table out{{"value", record.efficiency->value},
                    {"low", record.efficiency->interval->low},
                    {"high", record.efficiency->interval->high},
                    {"confidence", record.efficiency->confidence.level()},
                    {"method", record.efficiency->method}};
    if (const auto& source = record.efficiency_source) {
        out.insert("found_by", row_in(found_by_names, source->found_by).key);
        out.insert("assumption", source->assumption);
        if (source->figures)
            out.insert("figures", std::visit(FiguresToml{}, *source->figures));
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

Result<Record> parse_record(std::string_view text, const std::string& where) {
    auto document = TomlDocument::parse(text, where);
    if (!document)
        return document.error();
    Record record = read(document->root());
    if (document->problem())
        return *document->problem();
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
        root.insert("efficiency", efficiency_toml(record));
    }
    if (record.flight_us)
        root.insert("flight", toml::table{{"flight_us", record.flight_us->value},
                                          {"flight_u_us", record.flight_us->u}});
    if (record.lead)
        root.insert("lead", lead_toml(*record.lead));
    if (record.classifier)
        root.insert("pulse_class", classes_toml(*record.classifier));
    toml::array inputs;
    for (const InputFile& input : record.inputs) {
        toml::table one{{"file", input.file}, {"sha256", input.sha256}};
        if (input.channel)
            one.insert("channel", *input.channel);
        inputs.push_back(std::move(one));
    }
    if (!inputs.empty())
        root.insert("input", inputs);
    std::ostringstream out;
    out << root << '\n';
    return out.str();
}

Result<Record> joined(Record kept, const Record& added) {
    const HoldsFor& a = kept.holds_for;
    const HoldsFor& b = added.holds_for;
    if (kept.id != added.id || a.bench != b.bench || a.unit != b.unit || a.crop != b.crop ||
        a.gate != b.gate)
        return usage_error(
            "write",
            fmt::format(
                "the file holds calibration {} (unit '{}', gate {}, crop '{}', bench '{}'), not {} "
                "(unit '{}', gate {}, crop '{}', bench '{}')",
                kept.id, a.unit, a.gate, a.crop, a.bench, added.id, b.unit, b.gate, b.crop,
                b.bench),
            "write to another file, or say the same `id` and what it holds for");
    kept.date = added.date;
    kept.expires = added.expires;
    if (b.seed_mm)
        kept.holds_for.seed_mm = b.seed_mm;
    if (added.efficiency) {
        for (InputFile& input : kept.inputs)
            input.channel.reset(); // of the efficiency before
        kept.efficiency = added.efficiency;
        kept.efficiency_source = added.efficiency_source;
    }
    if (added.flight_us)
        kept.flight_us = added.flight_us;
    if (added.lead)
        kept.lead = added.lead;
    if (added.classifier)
        kept.classifier = added.classifier;
    for (const InputFile& input : added.inputs) {
        const auto known =
            std::find_if(kept.inputs.begin(), kept.inputs.end(),
                         [&](const InputFile& one) { return one.sha256 == input.sha256; });
        if (known == kept.inputs.end())
            kept.inputs.push_back(input);
        else if (input.channel)
            known->channel = input.channel;
    }
    return kept;
}

} // namespace dropledger::calibration
