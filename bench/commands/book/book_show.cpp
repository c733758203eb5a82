#include "analysis/base/readers/or_null.hpp"
#include "bench/commands/book/book.hpp"
#include "bench/commands/shell/answer.hpp"
#include "bench/commands/shell/dates.hpp"

#include "analysis/report/words/wording.hpp"
#include "bench/book/judging.hpp"
#include "bench/book/trend.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>

namespace dropledger::cli {

namespace {

using Json = nlohmann::ordered_json;

using measures::Quantity;

constexpr std::array<measures::Reported, 8> main_quantities{
    {{Quantity::miss_index},
     {Quantity::miss_index, measures::Aspect::corrected},
     {Quantity::multiples_index},
     {Quantity::exact_share},
     {Quantity::rate_error},
     {Quantity::cv},
     {Quantity::precision},
     {Quantity::offset_mm}}};

statistics::Estimate estimate_of(const book::Quantity& quantity) {
    statistics::Estimate out;
    out.value = quantity.value;
    if (quantity.low && quantity.high)
        out.interval = statistics::Interval{*quantity.low, *quantity.high};
    return out;
}

void add_quantity(TextPage& page, const measures::Reported& what, const book::Quantity& quantity) {
    const Unit unit = unit_of(what.quantity);
    const statistics::Estimate estimate = estimate_of(quantity);
    const std::string interval = interval_words(estimate, unit);
    page.add("      {:<40} {}{}\n", words_of(what), value_words(estimate, unit),
             interval.empty() ? "" : " (" + interval + ")");
}

void add_verdict(TextPage& page, const book::Run& run, const book::Verdict& verdict) {
    const auto or_word = [](const std::string& text, const char* word) {
        return text.empty() ? word : text.c_str();
    };
    const char* const state = !run.seals_intact ? ", seals broken"
                              : run.complete    ? ""
                                                : ", incomplete";
    page.add("\n  {}  {}{}\n", local_words(run.started), name_of(verdict.outcome), state);
    if (!verdict.reason.empty())
        page.add("      {}\n", verdict.reason);
    page.add("      {} mode, {} drops, profile {}, calibration {}, gate {}\n", name_of(run.mode),
             verdict.drops, run.profile, or_word(run.calibration, "none"), verdict.gate);
    page.add("      crop {}, seed lot {}\n", or_word(run.crop, "not said"),
             or_word(run.seed_lot, "not said"));
    for (const measures::Reported& what : main_quantities)
        if (const book::Quantity* const quantity = book::find_quantity(verdict, key_of(what)))
            add_quantity(page, what, *quantity);
    page.add("      {}, channel {}\n", run.file, verdict.channel);
}

using Records = std::vector<calibration::Record>;

struct History {
    std::string unit;
    std::vector<book::Run> runs;
    Records records; // that hold for it
};

Result<Records> records_for(const book::Book& book, const std::string& unit) {
    auto all = book::calibration_records(book);
    if (all)
        std::erase_if(*all, [&](const calibration::Record& one) {
            return !one.holds_for.unit.empty() && one.holds_for.unit != unit;
        });
    return all;
}

std::string values_in(const calibration::Record& record) {
    std::string words;
    const auto add = [&](const std::string& what) { words += (words.empty() ? "" : "; ") + what; };
    if (record.efficiency)
        add("efficiency " + value_words(*record.efficiency, report::Unit::percent));
    if (record.flight_us)
        add(fmt::format("flight {:.0f} us", record.flight_us->value));
    if (record.lead && record.lead->lead_to_set_us)
        add(fmt::format("lead to set {} us", *record.lead->lead_to_set_us));
    if (record.classifier)
        add(fmt::format("{} pulse classes", record.classifier->classes.size()));
    return words;
}

std::string text_of(const History& history) {
    const auto& [unit, runs, records] = history;
    TextPage page;
    page.add("Unit {}: {}\n", unit, counted(runs.size(), "run"));
    for (const book::Run& run : runs)
        for (const book::Verdict& verdict : run.verdicts)
            add_verdict(page, run, verdict);
    page.add("\nCalibrations that hold for it\n");
    if (records.empty())
        page.add("  none: its sensor is taken to see every seed. dropledger calibrate efficiency "
                 "--help\n");
    for (const calibration::Record& one : records)
        page.add("  {}, gate {}, {} to {}: {}\n", one.id, one.holds_for.gate, one.date, one.expires,
                 values_in(one));
    return page.text();
}

Json run_json(const book::Run& run, const book::Verdict& verdict) {
    Json quantities = Json::object();
    for (const book::Quantity& one : verdict.quantities)
        quantities[one.group][one.key] = {
            {"value", one.value}, {"low", or_null(one.low)}, {"high", or_null(one.high)}};
    return {{"run", run.run_id},          {"file", run.file},
            {"sha256", run.sha256},       {"started", run.started},
            {"channel", verdict.channel}, {"row", or_null(verdict.row)},
            {"gate", verdict.gate},       {"mode", name_of(run.mode)},
            {"crop", run.crop},           {"seed_lot", run.seed_lot},
            {"profile", run.profile},     {"calibration", or_null(run.calibration)},
            {"complete", run.complete},   {"seals_intact", run.seals_intact},
            {"signed", run.is_signed},    {"outcome", name_of(verdict.outcome)},
            {"reason", verdict.reason},   {"drops", verdict.drops},
            {"quantities", quantities}};
}

Json json_of(const History& history) {
    const auto& [unit, runs, records] = history;
    Json json{{"schema", "dropledger/book-show/1"},
              {"unit", unit},
              {"runs", Json::array()},
              {"calibrations", Json::array()}};
    for (const book::Run& run : runs)
        for (const book::Verdict& verdict : run.verdicts)
            json["runs"].push_back(run_json(run, verdict));
    for (const calibration::Record& one : records)
        json["calibrations"].push_back({{"id", one.id},
                                        {"gate", one.holds_for.gate},
                                        {"date", one.date},
                                        {"expires", one.expires},
                                        {"holds", values_in(one)}});
    return json;
}

Result<History> history_of(const BookOptions& options) {
    auto unit = unit_in_book(options);
    if (!unit)
        return unit.error();
    auto records = records_for(unit->book, unit->name);
    if (!records)
        return records.error();
    return History{unit->name, std::move(unit->runs), *std::move(records)};
}

} // namespace

void add_book_show(Command& book) {
    const auto options = std::make_shared<BookOptions>();
    Command command = book.subcommand("show", "the history of a unit");
    command.option("UNIT", options->unit, "serial number of the unit")
        .required("UNIT")
        .option("--book", options->book, "the book")
        .manual("book_show");
    answers(command, options,
            Answer<BookOptions, History>{.find = history_of, .json = json_of, .text = text_of});
}

} // namespace dropledger::cli
