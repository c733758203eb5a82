#include "bench/station/farmer/farmer.hpp"

#include "analysis/report/pictures/markup.hpp"
#include "bench/io/file_source.hpp"
#include "bench/io/write_aside.hpp"
#include "bench/station/farmer/questions.hpp"
#include "bench/station/pages/fields.hpp"
#include "bench/station/pages/files.hpp"
#include "bench/station/pages/page.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cctype>
#include <filesystem>
#include <set>

namespace dropledger::station {

using report::pictures::element;
using report::pictures::escaped;

namespace {

constexpr std::string_view log_ending = ".droplog";

} // namespace

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
    if (const Status taken = take_answers(query, job.input); !taken)
        return taken.error();
    if (const std::string found = found_of(job.input.files); std::filesystem::exists(found))
        job.input.found = found;
    if (const Status taken = take_numbers(query, job.decision); !taken)
        return taken.error();
    if (const Status taken = take_efficiencies(query, folder_, job.efficiency); !taken)
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
                            "accept=\".csv,.txt,text/csv,text/plain\" aria-label=\"tables\" />") +
                    element("output", "", ""));
    if (!items.empty())
        body += heading2("Tables that are here") +
                element("form", "class=\"fill\" method=\"get\" action=\"/field/look\"",
                        items + element("div", "class=\"acts\"",
                                        element("button", "type=\"submit\" class=\"go\"",
                                                "Look at these")));
    return shown("Field", body, {"drop.js"});
}

// Under its own name, as CSV; where another table has that, with a number behind: NIGHT.CSV, night.txt,
// night-2.csv.
std::string Farmer::kept_name(const std::string& name, const std::string& bytes) const {
    constexpr std::string_view ending = ".csv";
    std::string low = name;
    std::transform(low.begin(), low.end(), low.begin(),
                   [](unsigned char c) { return static_cast<char>(std::tolower(c)); });
    const std::string stem =
        low.ends_with(ending) ? name.substr(0, name.size() - ending.size()) : name;
    const auto is_other = [&](const std::string& one) {
        const std::string file = folder_ + "/" + one;
        if (!std::filesystem::exists(file))
            return false;
        const auto there = files::whole_file(file, most_dropped_bytes);
        return !there || *there != bytes;
    };
    std::string kept = stem + std::string(ending);
    for (int number = 2; is_other(kept); ++number)
        kept = fmt::format("{}-{}{}", stem, number, ending);
    return kept;
}

// Whole or not at all; never over a table that is there. The answer is the name under which it is kept.
Response Farmer::take_table(const Request& request) const {
    const auto told = [](unsigned status, const std::string& text) {
        return Response{.status = status, .type = "text/plain; charset=utf-8", .body = text};
    };
    const std::string& name = request.parts.front();
    const auto plain = file_in(folder_, name, "");
    if (!plain)
        return told(400, plain.error().message());
    if (name.ends_with(log_ending))
        return told(400, "this is a log of the bench, no table");
    if (request.body.starts_with("PK"))
        return told(
            400, "this is a spreadsheet program's own file: save it as CSV there, and drop that");
    const std::string kept = kept_name(name, request.body);
    const auto file = file_in(folder_, kept, ".csv");
    if (!file)
        return told(400, file.error().message());
    if (std::filesystem::exists(*file))
        return told(200, kept);
    const Status written = files::write_new_file(*file, request.body);
    return written ? told(200, kept) : told(507, written.error().message());
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
