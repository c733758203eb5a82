// What to do in the morning: the report's own page, files for the phone, costs and what was dug up.
#include "bench/station/farmer/farmer.hpp"

#include "analysis/report/html/field_page.hpp"
#include "analysis/report/json/field_walk.hpp"
#include "analysis/report/json/geojson.hpp"
#include "analysis/report/pictures/markup.hpp"
#include "bench/io/file_source.hpp"
#include "bench/io/write_aside.hpp"
#include "bench/station/farmer/found_table.hpp"
#include "bench/station/farmer/questions.hpp"
#include "bench/station/pages/fields.hpp"
#include "bench/station/pages/page.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <filesystem>

namespace dropledger::station {

using report::pictures::element;
using report::pictures::escaped;

namespace {

std::uint64_t size_of(const std::string& file) {
    std::error_code none;
    const auto size = std::filesystem::file_size(file, none);
    return none ? 0 : size;
}

// Reports and messages name the tables as they were dropped, without their folder.
Result<field::FieldAudit> audited(cli::FieldJob job, const std::shared_ptr<Progress>& progress) {
    const auto folder = std::filesystem::path(job.input.files.front()).parent_path();
    for (std::string& file : job.input.files)
        file = std::filesystem::path(file).filename().string();
    job.input.open = [progress, folder](const std::string& name) {
        const std::string file = (folder / name).string();
        return progress->counted(files::open_file(file), size_of(file));
    };
    return cli::audit_of(job);
}

struct Download {
    const char* name;
    const char* words;
    const char* type;
    bool needs_degrees;
    Result<std::string> (*make)(const field::FieldAudit&);
};
constexpr std::array<Download, 4> downloads{
    {{"walk.csv", "list", "text/csv; charset=utf-8", false,
      [](const field::FieldAudit& audit) -> Result<std::string> {
          return report::field::walking_list(audit);
      }},
     {"walk.gpx", "navigation device (GPX)", "application/gpx+xml", true, report::field::to_gpx},
     {"walk.kml", "map program (KML)", "application/vnd.google-earth.kml+xml", true,
      report::field::to_kml},
     {"field.geojson", "farm program (GeoJSON)", "application/geo+json", true,
      report::field::to_geojson}}};

// Maps of others know degrees only.
std::string download_links(const Fields& query, const field::FieldAudit& audit) {
    const std::string again = query_again(query);
    std::string links = "Take it along:";
    for (const Download& one : downloads)
        if (audit.field.geographic || !one.needs_degrees)
            links += " " + link(std::string("/field/file/") + one.name + again, one.words);
    if (!is_of_logs(query))
        links += " " + link("/field/look" + again, "what the columns mean");
    return element("p", "class=\"noprint links\"", links);
}

std::string asked_of(const Fields& query) {
    return is_of_logs(query) ? log_fields(query) : question_fields(query);
}

std::string ask_again(const Fields& query) {
    return element(
        "details", "class=\"noprint\"",
        element("summary", "", "Costs, what sensors see, and what may be taken for granted") +
            element("form", "class=\"fill\" method=\"get\" action=\"/field/result\"",
                    hidden_again(query) + cost_fields(query) + asked_of(query) +
                        element("div", "class=\"acts\"",
                                element("button", "type=\"submit\" class=\"go\"", "Judge anew"))));
}

std::string walk_drop(const Fields& query) {
    const std::string to = "/field/walk/" + encoded(tables_again(query).substr(1)) + "/";
    return element("div",
                   fmt::format("class=\"drop\" data-drop=\"{}\" data-then=\"{}\"", escaped(to),
                               escaped("/field/result" + query_again(query))),
                   text_line("Or drop the list that you took along, its last column filled in.") +
                       element("label", "",
                               "or choose it <input type=\"file\" accept=\".csv,text/csv\" "
                               "aria-label=\"the list, filled in\" />") +
                       element("output", "", ""));
}

// `audit`: of nothing, where it could not be judged; what was said stays to be corrected.
std::string findings_form(const Fields& query, const field::FieldAudit& audit,
                          const std::string& file, bool open = false) {
    const auto fields = found_fields(audit, file);
    if (fields && fields->empty())
        return {};
    return element("details", open ? "class=\"noprint\" open=\"open\"" : "class=\"noprint\"",
                   element("summary", "", "What was dug up") + walk_drop(query) +
                       (fields ? form({.action = "/field/found",
                                       .fields = hidden_whole(query) + *fields,
                                       .button = "Judge anew with it"})
                               : said_wrong(fields.error())));
}

} // namespace

std::string tables_again(const Fields& fields) {
    std::string text;
    for (const std::string& table : fields.values("table"))
        text += (text.empty() ? "?table=" : "&table=") + encoded(table);
    return text;
}

std::string query_again(const Fields& query) {
    std::string text;
    for (const auto& [name, value] : query.all())
        if (!value.empty() && !name.starts_with("found:") && !name.starts_with("shown:"))
            text += (text.empty() ? "?" : "&") + encoded(name) + "=" + encoded(value);
    return text;
}

// The tables only: the rest is asked for in the form itself.
std::string hidden_again(const Fields& query) {
    std::string fields;
    for (const std::string& table : query.values("table"))
        fields += hidden_field("table", table);
    return fields;
}

// Costs and answers too, so that they stay said.
std::string hidden_whole(const Fields& query) {
    std::string fields;
    for (const auto& [name, value] : query.all())
        if (!value.empty())
            fields += hidden_field(name, value);
    return fields;
}

// What must be said first, or was said wrong; all that was said stays.
Response Farmer::trouble_page(const Fields& query, Error error) const {
    if (error.where.starts_with(folder_ + "/")) // by its name, as it was dropped
        error.where.erase(0, folder_.size() + 1);
    constexpr std::string_view by_command = "in a mapping file";
    for (std::size_t at = error.remedy.find(by_command); at != std::string::npos;
         at = error.remedy.find(by_command))
        error.remedy.replace(at, by_command.size(), "where the page asks what they mean");
    const std::string costs =
        element("details", has_costs(query) ? "open=\"open\"" : "",
                element("summary", "", "Costs, and what sensors see") + cost_fields(query));
    const auto tables = tables_of(query);
    const std::string dug =
        tables ? findings_form(query, field::FieldAudit{}, found_of(*tables), true) : std::string{};
    const std::string other = is_of_logs(query) ? button_link("/field", "Take other logs")
                                                : button_link("/field/look" + tables_again(query),
                                                              "The columns mean something else");
    return shown("A question",
                 heading1("Before anything is judged") + said_wrong(error) +
                     element("form", "class=\"fill\" method=\"get\" action=\"/field/result\"",
                             hidden_again(query) + asked_of(query) + costs +
                                 element("div", "class=\"acts\"",
                                         element("button", "type=\"submit\" class=\"go\"",
                                                 "Answer, and judge"))) +
                     dug + element("div", "class=\"acts\"", other),
                 {"drop.js"});
}

Response Farmer::result_page(const Request& request) {
    const Fields query = request.query;
    const auto tables = tables_of(query);
    if (!tables)
        return first_page(said_wrong(tables.error()));
    if (!is_said(*tables))
        return see("/field/look" + tables_again(query));
    const auto job = job_of(query);
    if (!job)
        return trouble_page(query, job.error());
    return jobs_.run(
        "Judging the night", "/field",
        [this, query, job = *job](const std::shared_ptr<Progress>& progress) {
            const auto audit = audited(job, progress);
            if (!audit)
                return trouble_page(query, audit.error());
            return shown("The morning after",
                         report::field::field_body(
                             *audit, download_links(query, *audit) + ask_again(query) +
                                         findings_form(query, *audit, found_of(job.input.files))),
                         {"field_script.js", "drop.js"});
        });
}

Response Farmer::file_of_result(const Request& request) {
    const std::string name = request.parts.front();
    const auto* const wanted = std::find_if(downloads.begin(), downloads.end(),
                                            [&](const Download& one) { return one.name == name; });
    const auto job = job_of(request.query);
    if (wanted == downloads.end() || !job)
        return {.status = 404, .body = refusal_page(404, "There is no such file.")};
    return jobs_.run(
        "Making " + name, "/field",
        [this, wanted, job = *job](const std::shared_ptr<Progress>& progress) {
            const auto audit = audited(job, progress);
            auto text = audit ? wanted->make(*audit) : Result<std::string>{audit.error()};
            if (!text)
                return shown("No file", heading1("No file") + said_wrong(text.error()));
            return Response{
                .type = wanted->type, .body = *std::move(text), .save_as = wanted->name};
        });
}

Response Farmer::take_findings(const Request& request) const {
    const auto tables = tables_of(request.form);
    if (!tables)
        return first_page(said_wrong(tables.error()));
    const std::string file = found_of(*tables);
    const std::lock_guard lock(findings_);
    const auto text = found_table(request.form, file);
    if (!text)
        return trouble_page(request.form, text.error());
    if (const Status written = files::write_file_aside(file, *text); !written)
        return first_page(said_wrong(written.error()));
    return see("/field/result" + query_again(request.form));
}

Response Farmer::take_walk(const Request& request) const {
    const auto told = [](unsigned status, const std::string& text) {
        return Response{.status = status, .type = "text/plain; charset=utf-8", .body = text};
    };
    const auto tables = tables_of(Fields::parse(request.parts.front()));
    if (!tables)
        return told(400, tables.error().message());
    const std::string file = found_of(*tables);
    const std::lock_guard lock(findings_);
    const auto text = found_on_walk(request.body, file);
    if (!text)
        return told(400, text.error().message());
    const Status written = files::write_file_aside(file, *text);
    return written ? told(200, request.parts.back()) : told(507, written.error().message());
}

} // namespace dropledger::station
