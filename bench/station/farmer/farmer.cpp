#include "bench/station/farmer/farmer.hpp"

#include "analysis/report/pictures/markup.hpp"
#include "bench/commands/simulate/simulate_field.hpp"
#include "bench/io/file_source.hpp"
#include "bench/io/write_aside.hpp"
#include "bench/station/farmer/dropped.hpp"
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

constexpr std::string_view table_ending = ".csv";
constexpr std::size_t most_walk_bytes = std::size_t{8} << 20U;
constexpr const char* invented = "invented-night.csv";

std::string ticks(const std::vector<NamedFile>& files) {
    std::string items;
    for (const NamedFile& file : files)
        if (!file.name.ends_with(".found.csv"))
            items += element("label", "class=\"choice\"",
                             fmt::format("<input type=\"checkbox\" name=\"table\" value=\"{}\" />",
                                         escaped(file.name)) +
                                 element("span", "", escaped(file.name + ", " + file.changed)));
    return items;
}

// Nothing where none are there.
std::string files_form(const char* heading, const std::string& items) {
    return items.empty()
               ? std::string{}
               : heading2(heading) +
                     element("form", "class=\"fill\" method=\"get\" action=\"/field/look\"",
                             items + element("div", "class=\"acts\"",
                                             element("button", "type=\"submit\" class=\"go\"",
                                                     "Look at these")));
}

} // namespace

bool is_of_logs(const Fields& query) {
    const auto names = query.values("table");
    return !names.empty() && names.front().ends_with(log_ending);
}

Result<std::vector<std::string>> Farmer::tables_of(const Fields& fields) const {
    std::vector<std::string> files;
    const bool logs = is_of_logs(fields);
    for (const std::string& name : fields.values("table")) {
        if (name.ends_with(log_ending) != logs)
            return usage_error("table", "tables and logs are not judged together",
                               "choose tables only, or logs only");
        auto file =
            logs ? file_in(logs_folder(), name, log_ending) : file_in(folder_, name, table_ending);
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
    const bool logs = is_of_logs(query);
    if (!logs)
        job.input.mapping = mapping_of(job.input.files.front());
    if (const Status taken =
            logs ? take_log_answers(query, job.input) : take_answers(query, job.input);
        !taken)
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
    std::string body =
        heading1("After a night in the field") + trouble +
        element("div",
                "class=\"drop\" data-whole=\"whole\" data-drop=\"/field/table/\" "
                "data-then=\"/field/look\"",
                text_line("Drop the machine's table here (CSV), one for each field; or its logs, "
                          "one for each pass.",
                          "lead") +
                    element("label", "",
                            "or choose them <input type=\"file\" multiple=\"multiple\" "
                            "accept=\".csv,.txt,.droplog,text/csv,text/plain\" "
                            "aria-label=\"tables or logs\" />") +
                    element("output", "", ""));
    body += text_line("A row of such a table is one drop that was commanded: when, in which pass "
                      "and row, where, and "
                      "what was seen of it. What its columns are called is asked next.");
    if (!std::filesystem::exists(folder_ + "/" + invented))
        body += element("div", "class=\"acts\"",
                        act("/field/invented", "No table at hand: take an invented night"));
    body += files_form("Tables that are here", ticks(files_in(folder_, table_ending))) +
            files_form("Logs that are here", ticks(files_in(logs_folder(), log_ending)));
    return shown("Field", body, {"drop.js"});
}

Response Farmer::invent_night() const {
    const std::string file = folder_ + "/" + invented;
    if (!std::filesystem::exists(file))
        if (const auto written =
                cli::write_night({.table = file, .truth = std::nullopt, .seed = 4});
            !written)
            return first_page(said_wrong(written.error()));
    return see(std::string("/field/look?table=") + invented);
}

// Whole or not at all; never over a file that is there. The answer is the name under which it is kept.
Response Farmer::take_file(const Request& request) const {
    const auto told = [](unsigned status, const std::string& text) {
        return Response{.status = status, .type = "text/plain; charset=utf-8", .body = text};
    };
    const std::string& name = request.parts.front();
    const auto plain = file_in(folder_, name, "");
    if (!plain)
        return told(400, plain.error().message());
    const auto kind = what_was_dropped(name, request.body);
    if (!kind)
        return told(400, kind.error().message());
    const bool is_log = *kind == Dropped::log;
    const std::string folder = is_log ? logs_folder() : folder_;
    const std::string_view ending = is_log ? log_ending : table_ending;
    const std::string kept = kept_name(folder, name, request.body, ending);
    const auto file = file_in(folder, kept, ending);
    if (!file)
        return told(400, file.error().message());
    if (std::filesystem::exists(*file))
        return told(200, kept);
    std::error_code problem; // told by the writing
    std::filesystem::create_directories(folder, problem);
    const Status written = files::write_new_file(*file, request.body);
    return written ? told(200, kept) : told(507, written.error().message());
}

std::vector<Route> Farmer::routes() {
    return {
        {Method::get, "/field", [this](const Request&) { return first_page(); }},
        {Method::post, "/field/invented", [this](const Request&) { return invent_night(); }},
        {Method::put, "/field/table/*",
         [this](const Request& request) { return take_file(request); }, Haste::usual,
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
        {Method::put, "/field/walk/*/*",
         [this](const Request& request) { return take_walk(request); }, Haste::usual,
         most_walk_bytes},
        {Method::post, "/field/found",
         [this](const Request& request) { return take_findings(request); }},
    };
}

} // namespace dropledger::station
