#include "bench/station/batches/batches.hpp"

#include "analysis/report/pictures/markup.hpp"
#include "bench/commands/inputs/profiles.hpp"
#include "bench/station/batches/program.hpp"
#include "bench/station/pages/fields.hpp"
#include "bench/station/pages/files.hpp"
#include "bench/station/pages/page.hpp"

#include <filesystem>

namespace dropledger::station {

using report::pictures::element;
using report::pictures::escaped;

namespace {

std::string pack_drop() {
    return heading2("Does a pack hold?") +
           element("div",
                   "class=\"drop\" data-whole=\"whole\" data-drop=\"/batches/pack/{new}/\" "
                   "data-then=\"/batches/pack/{new}\"",
                   text_line("Drop the folder that came with a certificate here. Nothing leaves "
                             "this machine.",
                             "lead") +
                       element("label", "",
                               "or choose all its files <input type=\"file\" multiple=\"multiple\" "
                               "aria-label=\"files of the pack\" />") +
                       element("output", "", ""));
}

} // namespace

std::string Batches::without_folder(const std::string& text) const {
    return station::without_folder(text, place_.folder);
}

Error Batches::refusal(const std::string& text) const {
    return usage_error("", refusal_in(without_folder(text)));
}

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

Response Batches::first_page(const std::string& trouble, const Fields& said) const {
    std::string body = heading1("Batches") + trouble + list_part();
    const std::string key =
        text_line("A batch's entries are signed. The bench's key is made once; keep it, and a copy "
                  "locked away.") +
        element("div", "class=\"acts\"", station::act("/batches/key", "Make the bench's key"));
    body += element("div", "class=\"noprint\"",
                    heading2("Open a batch") +
                        (has_key() ? opening_form(place_.folder, said) : key) + pack_drop());
    return shown("Batches", body);
}

Response Batches::make_key() const {
    const auto said = run_program({"batch", "key", in_folder(bench_key)});
    if (!said || said->failed())
        return first_page(said ? said_wrong(refusal(said->text)) : said_wrong(said.error()));
    return shown(
        "The bench's key",
        heading1("The bench's key is made") +
            text_line(
                "Give this public key to buyers: by it they know what this bench has signed.") +
            element("pre", "", escaped(said->text)) +
            element("div", "class=\"acts\"", button_link("/batches", "On to the batches")));
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
        {Method::post, "/batches/pack/*", usual(&Batches::verify), Haste::usual,
         most_serials_bytes},
    };
}

} // namespace dropledger::station
