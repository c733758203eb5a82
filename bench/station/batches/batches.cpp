#include "bench/station/batches/batches.hpp"

#include "analysis/report/pictures/markup.hpp"
#include "bench/commands/inputs/profiles.hpp"
#include "bench/station/batches/program.hpp"
#include "bench/station/pages/fields.hpp"
#include "bench/station/pages/files.hpp"
#include "bench/station/pages/page.hpp"
#include "bench/station/server/guard.hpp"

#include <fmt/format.h>

#include <array>
#include <filesystem>

namespace dropledger::station {

using report::pictures::element;
using report::pictures::escaped;

namespace {

constexpr std::string_view batch_ending = ".batch.json";

std::string plan_fields() {
    std::vector<Option> profiles;
    for (const std::string& name : cli::profile_names())
        profiles.push_back({name, name});
    std::vector<Option> levels;
    for (const char* const level : {"I", "II", "III", "S-1", "S-2", "S-3", "S-4"})
        levels.push_back({level, level});
    const std::string fields =
        text_field({"name", "Name of the batch", "of its file: may-2026", "", true}) +
        text_field({"serials", "Serial numbers", "SU-0001..SU-0280", "", true}) +
        select_field(
            {"profile", "Limits", "or a profile of your own", "single", std::move(profiles)}) +
        text_field(
            {"own-profile", "A profile of your own", "its file here: NAME.toml", "", false}) +
        text_field({"aql", "Acceptance quality limit", "%: a plan of the tables", "1.0", false}) +
        select_field({"level", "Inspection level", "", "II", std::move(levels)}) +
        text_field({"n", "Units to test", "instead of the tables: a plan of your own", "", false}) +
        text_field(
            {"accept", "Nonconforming that still accept", "with a plan of your own", "", false});
    return element("div", "class=\"row2\"", fields);
}

std::string open_form() {
    return form(
        {.action = "/batches/open",
         .fields =
             plan_fields() +
             radio_field({.name = "choice",
                          .label = "Who chooses the units?",
                          .value = "buyer",
                          .options = {{"buyer", "chance, with a text of the buyer's"},
                                      {"drawn", "chance alone"}}}) +
             radio_field(
                 {.name = "rehearsal",
                  .label = "Is it for real?",
                  .value = "",
                  .options = {{"", "yes"},
                              {"yes",
                               "a rehearsal: simulated runs are taken, it certifies nothing"}}}),
         .button = "Open the batch"});
}

std::string pack_drop() {
    const std::string id = random_token().substr(0, 16);
    return heading2("Does a pack hold?") +
           element("div",
                   fmt::format("class=\"drop\" data-drop=\"/batches/pack/{0}/\" "
                               "data-then=\"/batches/pack/{0}\"",
                               id),
                   text_line("Drop the folder that came with a certificate here. Nothing leaves "
                             "this machine.",
                             "lead") +
                       element("label", "",
                               "or choose all its files <input type=\"file\" multiple=\"multiple\" "
                               "aria-label=\"files of the pack\" />") +
                       element("output", "", ""));
}

} // namespace

bool Batches::has_key() const {
    return std::filesystem::exists(in_folder(bench_key));
}

Response Batches::shown(const std::string& title, const std::string& body) const {
    return {.body = page({.title = title,
                          .here = "/batches",
                          .body = body,
                          .bar = bar_(),
                          .scripts = {"drop.js"}})};
}

Response Batches::first_page(const std::string& trouble) const {
    std::string items;
    for (const NamedFile& file : files_in(place_.folder, batch_ending))
        items += element("li", "",
                         link("/batches/of/" + encoded(file.name), file.name) +
                             escaped("  " + file.changed));
    std::string body = heading1("Batches") + trouble;
    if (!items.empty())
        body += element("ul", "class=\"plain\"", items);
    body += heading2("Open a batch");
    if (has_key())
        body += open_form();
    else
        body +=
            text_line("A batch's entries are signed. The bench's key is made once; keep it, and a "
                      "copy locked away.") +
            element("div", "class=\"acts\"", station::act("/batches/key", "Make the bench's key"));
    return shown("Batches", body + pack_drop());
}

Response Batches::make_key() const {
    const auto said = run_program({"batch", "key", in_folder(bench_key)});
    if (!said || said->failed())
        return first_page(said ? said_wrong(device_error("key", said->text, ""))
                               : said_wrong(said.error()));
    return shown(
        "The bench's key",
        heading1("The bench's key is made") +
            text_line(
                "Give this public key to buyers: by it they know what this bench has signed.") +
            element("pre", "", escaped(said->text)) +
            element("div", "class=\"acts\"", button_link("/batches", "On to the batches")));
}

Response Batches::open(const Request& request) const {
    const Fields& form = request.form;
    const auto failed = [&](const Error& error) { return first_page(said_wrong(error)); };
    const auto file = file_in(
        place_.folder, form.filled("name").value_or("") + std::string(batch_ending), batch_ending);
    if (!file)
        return failed(file.error());
    std::vector<std::string> words{"batch", "open", *file, key_word(),
                                   "--serials=" + form.filled("serials").value_or("")};
    if (const auto own = form.filled("own-profile")) {
        const auto profile = file_in(place_.folder, *own, ".toml");
        if (!profile)
            return failed(profile.error());
        words.push_back("--profile=" + *profile);
    } else {
        words.push_back("--profile=" + form.filled("profile").value_or("single"));
    }
    if (const auto n = form.filled("n")) {
        words.push_back("--n=" + *n);
        words.push_back("--accept=" + form.filled("accept").value_or("0"));
    } else {
        words.push_back("--aql=" + form.filled("aql").value_or(""));
        words.push_back("--level=" + form.filled("level").value_or("II"));
    }
    if (form.value("choice") != "drawn")
        words.emplace_back("--for-buyer");
    if (form.value("rehearsal") == "yes")
        words.emplace_back("--rehearsal");
    if (place_.book_is_named && place_.has_book() && !form.filled("n"))
        words.push_back("--book=" + place_.book);
    const auto said = run_program(words);
    if (!said)
        return failed(said.error());
    if (said->failed())
        return failed(usage_error("", said->text, ""));
    return see("/batches/of/" + encoded(std::filesystem::path(*file).filename().string()));
}

std::vector<Route> Batches::routes() {
    const auto usual = [this](Response (Batches::*page)(const Request&)) {
        return [this, page](const Request& request) { return (this->*page)(request); };
    };
    const auto reading = [this](Response (Batches::*page)(const Request&) const) {
        return [this, page](const Request& request) { return (this->*page)(request); };
    };
    return {
        {Method::get, "/batches", [this](const Request&) { return first_page(); }},
        {Method::post, "/batches/key", [this](const Request&) { return make_key(); }},
        {Method::post, "/batches/open", reading(&Batches::open)},
        {Method::get, "/batches/of/*",
         [this](const Request& request) { return batch_page(request.parts.front()); }},
        {Method::post, "/batches/of/*/*", usual(&Batches::act)},
        {Method::get, "/batches/of/*/certificate.pdf", reading(&Batches::certificate)},
        {Method::put, "/batches/pack/*/*", reading(&Batches::take_file), Haste::usual,
         most_pack_file_bytes},
        {Method::get, "/batches/pack/*", reading(&Batches::pack_page)},
        {Method::post, "/batches/pack/*", usual(&Batches::verify)},
    };
}

} // namespace dropledger::station
