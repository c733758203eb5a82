// What to do in the morning: the report's own page, files for the phone, costs and what was dug up.
#include "bench/station/farmer/farmer.hpp"

#include "analysis/report/html/field_page.hpp"
#include "analysis/report/json/field_walk.hpp"
#include "analysis/report/json/geojson.hpp"
#include "analysis/report/pictures/markup.hpp"
#include "bench/io/file_source.hpp"
#include "bench/io/write_aside.hpp"
#include "bench/station/pages/fields.hpp"
#include "bench/station/pages/page.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <filesystem>

namespace dropledger::station {

using report::pictures::element;
using report::pictures::escaped;

namespace {

constexpr std::size_t most_stops = 15; // that can be filled in on the page

std::uint64_t size_of(const std::string& file) {
    std::error_code none;
    const auto size = std::filesystem::file_size(file, none);
    return none ? 0 : size;
}

Result<field::FieldAudit> audited(cli::FieldJob job, const std::shared_ptr<Progress>& progress) {
    job.input.open = [progress](const std::string& file) {
        return progress->counted(files::open_file(file), size_of(file));
    };
    auto audit = cli::audit_of(job);
    if (audit)
        audit->options.file = std::filesystem::path(audit->options.file).filename().string();
    return audit;
}

struct Download {
    const char* name;
    const char* words;
    const char* type;
    Result<std::string> (*make)(const field::FieldAudit&);
};
constexpr std::array<Download, 4> downloads{
    {{"walk.csv", "list", "text/csv; charset=utf-8",
      [](const field::FieldAudit& audit) -> Result<std::string> {
          return report::field::walking_list(audit);
      }},
     {"walk.gpx", "navigation device (GPX)", "application/gpx+xml", report::field::to_gpx},
     {"walk.kml", "map program (KML)", "application/vnd.google-earth.kml+xml",
      report::field::to_kml},
     {"field.geojson", "farm program (GeoJSON)", "application/geo+json",
      report::field::to_geojson}}};

std::string download_links(const std::string& query) {
    std::string links = "Take it along:";
    for (const Download& one : downloads)
        links += " " + link(std::string("/field/file/") + one.name + query, one.words);
    return element("p", "class=\"noprint links\"", links);
}

std::string ask_again(const Fields& query) {
    return element(
        "details", "class=\"noprint\"",
        element("summary", "", "Costs, and what may be taken for granted") +
            element("form", "class=\"fill\" method=\"get\" action=\"/field/result\"",
                    hidden_again(query) + cost_fields(query) + question_fields(query) +
                        element("div", "class=\"acts\"",
                                element("button", "type=\"submit\" class=\"go\"", "Judge anew"))));
}

std::string findings_form(const Fields& query, const field::FieldAudit& audit) {
    std::string rows;
    for (std::size_t i = 0; i < std::min(most_stops, audit.walk.stops.size()); ++i) {
        const field::Gap& gap = audit.gaps[audit.walk.stops[i]];
        const std::string key =
            fmt::format("{},{},{},{}", audit.field.pass_name(gap.key.pass),
                        audit.field.row_name(gap.key.row), gap.first_drop, gap.last_drop);
        const std::string name = "found:" + key;
        rows += text_field({name, report::field::stop_name(audit, i),
                            "none, seed, or how many seeds lie there", "", false});
    }
    if (rows.empty())
        return {};
    return element("details", "class=\"noprint\"",
                   element("summary", "", "What was dug up") +
                       form({.action = "/field/found",
                             .fields = hidden_again(query) + element("div", "class=\"row2\"", rows),
                             .button = "Judge anew with it"}));
}

bool is_plain_finding(const std::string& key, const std::string& found) {
    return (key + found).find_first_of("\"\r\n;") == std::string::npos &&
           found.find(',') == std::string::npos && std::count(key.begin(), key.end(), ',') == 3;
}

} // namespace

std::string query_again(const Fields& query) {
    std::string text;
    for (const auto& [name, value] : query.all())
        if (!value.empty() && !name.starts_with("found:"))
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

Response Farmer::result_page(const Request& request) {
    const Fields query = request.query;
    const auto job = job_of(query);
    if (!job)
        return first_page(said_wrong(job.error()));
    return jobs_.run(
        "Judging the night", "/field",
        [this, query, job = *job](const std::shared_ptr<Progress>& progress) {
            const auto audit = audited(job, progress);
            if (!audit)
                return shown(
                    "A question",
                    heading1("Before anything is judged") + said_wrong(audit.error()) +
                        element("form", "class=\"fill\" method=\"get\" action=\"/field/result\"",
                                hidden_again(query) + question_fields(query) +
                                    element("div", "class=\"acts\"",
                                            element("button", "type=\"submit\" class=\"go\"",
                                                    "Answer, and judge"))) +
                        element("div", "class=\"acts\"",
                                button_link("/field/look" + query_again(query),
                                            "The columns mean something else")));
            return shown("The morning after",
                         report::field::field_body(*audit, download_links(query_again(query)) +
                                                               ask_again(query) +
                                                               findings_form(query, *audit)));
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

// Added to what was dug up before, in the table that `field` takes.
Response Farmer::take_findings(const Request& request) const {
    const auto tables = tables_of(request.form);
    if (!tables)
        return first_page(said_wrong(tables.error()));
    const std::string file = tables->front() + ".found.csv";
    std::string text = "pass,row,first_drop,last_drop,found\n";
    if (std::filesystem::exists(file)) {
        auto before = files::whole_file(file, files::most_table_bytes);
        if (!before)
            return first_page(said_wrong(before.error()));
        text = *std::move(before);
    }
    constexpr std::string_view mark = "found:";
    for (const auto& [name, value] : request.form.all()) {
        if (!name.starts_with(mark) || value.empty())
            continue;
        const std::string key = name.substr(mark.size());
        if (!is_plain_finding(key, value))
            return first_page(
                said_wrong(usage_error("found", fmt::format("'{}' is no finding", value),
                                       "give none, seed, or a number")));
        text += fmt::format("{},{}\n", key, value);
    }
    if (const Status written = files::write_file_aside(file, text); !written)
        return first_page(said_wrong(written.error()));
    std::string query;
    for (const std::string& table : request.form.values("table"))
        query += (query.empty() ? "?table=" : "&table=") + encoded(table);
    return see("/field/result" + query);
}

} // namespace dropledger::station
