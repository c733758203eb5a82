#include "bench/station/farmer/farmer.hpp"

#include "analysis/base/readers/csv_reader.hpp"
#include "analysis/report/pictures/markup.hpp"
#include "bench/commands/shell/numbers.hpp"
#include "bench/io/file_source.hpp"
#include "bench/io/write_aside.hpp"
#include "bench/station/pages/fields.hpp"
#include "bench/station/pages/files.hpp"
#include "bench/station/pages/page.hpp"

#include <fmt/format.h>

#include <array>
#include <cmath>
#include <filesystem>
#include <set>

namespace dropledger::station {

using report::pictures::element;
using report::pictures::escaped;

namespace {

struct Asked {
    const char* name;
    const char* label;
    const char* help;
};
constexpr std::array<Asked, 8> numbers{
    {{"reseed-min-m", "Gaps from this length on are worth re-seeding",
      "m; 1 where nothing is said"},
     {"germination", "Share of seeds that become plants", "0 to 1; 1 where nothing is said"},
     {"cost-lost-plant", "What a lost plant costs", "in your currency"},
     {"cost-reseed-metre", "What re-seeding a metre costs", "in your currency"},
     {"cost-gap", "What reaching one gap costs", "in your currency"},
     {"cost-seed", "What a seed costs", "in your currency"},
     {"late-value", "Value of a plant re-seeded late",
      "as a share of one in time; 1 where nothing is said"},
     {"guard-mm", "Distance a blind hoe spares around a place", "mm, may be left out"}}};

constexpr std::string_view log_ending = ".droplog";

constexpr std::array<const char*, 8> acceptable{
    "seen-above-target", "duplicates", "alerts",        "times",
    "swapped",           "spacing",    "coarse-places", "places"};

std::optional<double>* target_of(cli::DecisionOptions& decision, std::string_view name) {
    if (name == "cost-lost-plant")
        return &decision.cost_lost_plant;
    if (name == "cost-reseed-metre")
        return &decision.cost_reseed_metre;
    if (name == "cost-gap")
        return &decision.cost_gap;
    if (name == "cost-seed")
        return &decision.cost_seed;
    return name == "guard-mm" ? &decision.guard_mm : nullptr;
}

Status take_numbers(const Fields& query, cli::DecisionOptions& decision) {
    for (const Asked& one : numbers) {
        const auto given = query.filled(one.name);
        if (!given)
            continue;
        const auto number = cli::typed_number(std::string("--") + one.name, *given);
        if (!number)
            return usage_error(std::string("option --") + one.name, number.error().what,
                               number.error().remedy);
        if (auto* const target = target_of(decision, one.name))
            *target = *number;
        else if (std::string_view(one.name) == "reseed-min-m")
            decision.reseed_min_m = *number;
        else if (std::string_view(one.name) == "germination")
            decision.germination = *number;
        else
            decision.late_value = *number;
    }
    return Done{};
}

} // namespace

std::string cost_fields(const Fields& query) {
    std::string fields;
    for (const Asked& one : numbers)
        fields +=
            text_field({one.name, one.label, one.help, query.value(one.name).value_or(""), false});
    fields += select_field(
        {.name = "assume",
         .label = "What may be taken for granted?",
         .help = "where nothing tells a bad meter from a bad sensor",
         .value = query.value("assume").value_or(""),
         .options = {{"", "nothing"},
                     {"gates-alike", "no sensor overlooks more than the best row is silent"},
                     {"meters-alike", "no meter misses more than the best row is silent"},
                     {"cables-sound", "plugs and cables were looked at"}}});
    return element("div", "class=\"row2\"", fields);
}

std::string question_fields(const Fields& query) {
    std::string accepted;
    for (const char* const one : acceptable) {
        const auto values = query.values("accept");
        const bool on = std::find(values.begin(), values.end(), one) != values.end();
        accepted +=
            element("label", "class=\"choice\"",
                    fmt::format("<input type=\"checkbox\" name=\"accept\" value=\"{0}\"{1} />"
                                "<span>{0}</span>",
                                one, on ? " checked=\"checked\"" : ""));
    }
    return select_field({.name = "blank-means",
                         .label = "Where `seen` is blank",
                         .value = query.value("blank-means").value_or(""),
                         .options = {{"", "not said"},
                                     {"none", "no seed was seen"},
                                     {"unknown", "nobody knows"}}}) +
           select_field({.name = "lacking-drops",
                         .label = "Where drop numbers lack",
                         .value = query.value("lacking-drops").value_or(""),
                         .options = {{"", "not said"},
                                     {"silent", "those drops were silent"},
                                     {"unknown", "nobody knows"}}}) +
           text_field({"drop-step", "The drop number grows by", "1 where nothing is said",
                       query.value("drop-step").value_or(""), false}) +
           text_field({"spacing-mm", "Distance of two drops, as the machine was set",
                       "mm; the places are held against it", query.value("spacing-mm").value_or(""),
                       false}) +
           text_field({"time-zone", "Time zone of the table",
                       "Europe/Berlin; times are shown in it",
                       query.value("time-zone").value_or(""), false}) +
           element("fieldset", "",
                   element("legend", "", "The table is right as it is in") +
                       element("div", "class=\"choices\"", accepted));
}

Result<std::vector<std::string>> Farmer::tables_of(const Fields& fields) const {
    std::vector<std::string> files;
    for (const std::string& name : fields.values("table")) {
        auto file = file_in(folder_, name, name.ends_with(log_ending) ? log_ending : ".csv");
        if (!file)
            return file.error();
        files.push_back(*std::move(file));
    }
    if (files.empty())
        return usage_error("table", "none was chosen",
                           "drop one, or tick one of those that are here");
    return files;
}

Result<cli::FieldJob> Farmer::job_of(const Fields& query) const {
    cli::FieldJob job;
    auto tables = tables_of(query);
    if (!tables)
        return tables.error();
    job.input.files = *std::move(tables);
    if (!job.input.files.front().ends_with(log_ending))
        job.input.mapping = mapping_of(job.input.files.front());
    job.input.time_zone = query.filled("time-zone");
    job.input.blank_means = query.filled("blank-means");
    job.input.lacking_drops = query.filled("lacking-drops");
    job.input.accept = query.values("accept");
    if (const auto step = query.filled("drop-step")) {
        const auto number = cli::typed_number("--drop-step", *step);
        if (!number)
            return number.error();
        job.input.drop_step = std::llround(*number);
    }
    if (const auto spacing = query.filled("spacing-mm")) {
        const auto number = cli::typed_number("--spacing-mm", *spacing);
        if (!number)
            return number.error();
        job.input.spacing_mm = *number;
    }
    if (const std::string found = found_of(job.input.files); std::filesystem::exists(found))
        job.input.found = found;
    job.decision.assume = query.filled("assume");
    if (const Status taken = take_numbers(query, job.decision); !taken)
        return taken.error();
    return job;
}

std::string Farmer::found_of(const std::vector<std::string>& tables) {
    std::uint32_t sum = 2'166'136'261U; // FNV-1a
    for (const std::string& table : tables)
        for (const char c : std::filesystem::path(table).filename().string() + "/")
            sum = (sum ^ static_cast<unsigned char>(c)) * 16'777'619U;
    return tables.front() + (tables.size() > 1 ? fmt::format(".with-{:08x}", sum) : "") +
           ".found.csv";
}

bool Farmer::is_said(const std::vector<std::string>& tables) {
    std::set<std::string> said;
    for (const std::string& table : tables) {
        if (table.ends_with(log_ending))
            continue;
        const std::string file = mapping_of(table);
        if (!std::filesystem::exists(file))
            return false;
        const auto text = files::whole_file(file, files::most_table_bytes);
        said.insert(text ? *text : std::string{});
    }
    return said.size() <= 1;
}

Response Farmer::shown(const std::string& title, const std::string& body,
                       std::vector<std::string_view> scripts) const {
    return {.body = page({.title = title,
                          .here = "/field",
                          .body = body,
                          .bar = bar_(),
                          .scripts = std::move(scripts),
                          .as_report = true})};
}

Response Farmer::first_page(const std::string& trouble) const {
    std::string items;
    for (const NamedFile& table : files_in(folder_, ".csv"))
        if (!table.name.ends_with(".found.csv"))
            items += element("label", "class=\"choice\"",
                             fmt::format("<input type=\"checkbox\" name=\"table\" value=\"{}\" />",
                                         escaped(table.name)) +
                                 element("span", "", escaped(table.name + ", " + table.changed)));
    std::string body =
        heading1("After a night in the field") + trouble +
        element("div", "class=\"drop\" data-drop=\"/field/table/\" data-then=\"/field/look\"",
                text_line("Drop the machine's table here (CSV), one for each field.", "lead") +
                    element("label", "",
                            "or choose it <input type=\"file\" multiple=\"multiple\" "
                            "accept=\".csv,text/csv\" aria-label=\"tables\" />") +
                    element("output", "", ""));
    if (!items.empty())
        body += heading2("Tables that are here") +
                element("form", "class=\"fill\" method=\"get\" action=\"/field/look\"",
                        items + element("div", "class=\"acts\"",
                                        element("button", "type=\"submit\" class=\"go\"",
                                                "Look at these")));
    return shown("Field", body, {"drop.js"});
}

// Whole or not at all; never over a table that is there.
Response Farmer::take_table(const Request& request) const {
    const auto told = [](unsigned status, const std::string& text) {
        return Response{.status = status, .type = "text/plain; charset=utf-8", .body = text};
    };
    const auto file = file_in(folder_, request.parts.front(), ".csv");
    if (!file)
        return told(400, file.error().message());
    if (std::filesystem::exists(*file)) {
        const auto there = files::whole_file(*file, most_dropped_bytes);
        return there && *there == request.body
                   ? told(200, "it is here already")
                   : told(409,
                          "another table of this name is here already: give this one another name");
    }
    const Status written = files::write_new_file(*file, request.body);
    return written ? told(200, "taken") : told(507, written.error().message());
}

std::vector<Route> Farmer::routes() {
    return {
        {Method::get, "/field", [this](const Request&) { return first_page(); }},
        {Method::put, "/field/table/*",
         [this](const Request& request) { return take_table(request); }, Haste::usual,
         most_dropped_bytes},
        {Method::get, "/field/look", [this](const Request& request) { return look_page(request); }},
        {Method::post, "/field/look",
         [this](const Request& request) { return look_page(request); }},
        {Method::post, "/field/mapping",
         [this](const Request& request) { return take_mapping(request); }},
        {Method::get, "/field/result",
         [this](const Request& request) { return result_page(request); }},
        {Method::get, "/field/file/*",
         [this](const Request& request) { return file_of_result(request); }},
        {Method::post, "/field/found",
         [this](const Request& request) { return take_findings(request); }},
    };
}

} // namespace dropledger::station
