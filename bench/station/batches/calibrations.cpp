#include "bench/station/batches/calibrations.hpp"

#include "analysis/report/pictures/markup.hpp"
#include "bench/station/batches/program.hpp"
#include "bench/station/pages/fields.hpp"
#include "bench/station/pages/files.hpp"
#include "bench/station/pages/page.hpp"

#include <nlohmann/json.hpp>

#include <algorithm>

namespace dropledger::station {

using report::pictures::element;
using report::pictures::escaped;
using Words = std::vector<std::string>;

namespace {

constexpr std::string_view ending = ".toml";

std::vector<Option> logs_of(const std::string& folder) {
    std::vector<Option> logs;
    for (const NamedFile& log : files_in(folder, ".droplog"))
        logs.push_back({log.name, log.name + ", " + log.changed});
    logs.push_back({"", "no run: a hand count alone"});
    return logs;
}

// A run says what it holds for; a hand count does not, and would speak for any bench and unit.
Status check_holds_for(const Fields& form) {
    if (form.filled("log"))
        return Done{};
    const bool is_first = form.value("seen-by") == "first";
    if (!form.filled(is_first ? "unit" : "bench"))
        return usage_error(is_first ? "unit" : "bench",
                           "a hand count alone does not say whose gate was counted",
                           is_first ? "name the unit whose sensor it was"
                                    : "name the bench whose gate it was, as its runs name it");
    return Done{};
}

std::string holds_for_fields(const Fields& said) {
    const auto value = [&](const char* name) { return said.value(name).value_or(""); };
    return element(
        "div", "class=\"row2\"",
        text_field({"bench", "Bench",
                    "needed for a hand count alone of gate 1; as its runs name it",
                    value("bench")}) +
            text_field({"unit", "Unit", "needed for a hand count alone of its own sensor",
                        value("unit")}) +
            text_field({"crop", "Crop", "may be left out: for any", value("crop")}));
}

std::string form_of(const std::string& folder, const Fields& said) {
    const auto value = [&](const char* name, const char* usual = "") {
        return said.value(name).value_or(usual);
    };
    const std::string fields =
        text_field({"name", "Name of the record", "of its file: GATE1-2026", value("name"), true}) +
        select_field({.name = "seen-by",
                      .label = "Which gate?",
                      .value = value("seen-by", "second"),
                      .options = {{"second", "the bench's reference (gate 1)"},
                                  {"first", "the units' own sensors (gate 0)"}}});
    std::vector<Option> logs = logs_of(folder);
    const std::string log = said.value("log").value_or(logs.front().value);
    const std::string run = select_field({.name = "log",
                                          .label = "By which run, with seed before both gates?",
                                          .help = "each gate counts what the other one overlooks",
                                          .value = log,
                                          .options = std::move(logs)});
    const std::string counted =
        text_field({"dropped", "Counted by hand: seeds dropped through it",
                    "may be left out; beside a run it is held against that", value("dropped"),
                    false}) +
        text_field({"seen", "and pulses that it gave", "", value("seen"), false});
    return form({.action = "/calibrations",
                 .fields = element("div", "class=\"row2 written\"", fields) + run +
                           element("div", "class=\"row2 written\"", counted) +
                           holds_for_fields(said),
                 .button = "Calibrate"});
}

// NAME.toml, and NAME-UNIT.toml of several units.
bool is_there(const std::string& folder, const std::string& name) {
    const auto files = files_in(folder, ending);
    return std::any_of(files.begin(), files.end(), [&](const NamedFile& file) {
        return file.name == name + std::string(ending) || file.name.starts_with(name + "-");
    });
}

Words with(Words words, std::string more) {
    words.push_back(std::move(more));
    return words;
}

// Of several units each gets a record of its own.
bool is_of_several(const Said& said) {
    const auto json = nlohmann::json::parse(
        said.text.substr(std::min(said.text.find('{'), said.text.size())), nullptr, false);
    return !json.is_discarded() && json.contains("units");
}

} // namespace

Result<Words> Calibrations::words_of(const Fields& form) const {
    const std::string name = form.filled("name").value_or("");
    if (const auto file = made_up_file_in(place_.folder, name, ending); !file)
        return file.error();
    if (is_there(place_.folder, name))
        return usage_error("name",
                           "a record of this name is there already, and is not written over",
                           "give another name");
    if (const Status known = check_holds_for(form); !known)
        return known.error();
    const std::string gate = form.value("seen-by") == "first" ? "first" : "second";
    Words words{"calibrate", "efficiency", "--seen-by=" + gate, "--id=" + name};
    for (const char* const field : {"dropped", "seen", "bench", "unit", "crop"})
        if (const auto number = form.filled(field))
            words.push_back(std::string("--") + field + "=" + *number);
    if (const auto log = form.filled("log")) {
        auto file = file_in(place_.folder, *log, ".droplog");
        if (!file)
            return file.error();
        words.push_back(*std::move(file));
    }
    return words;
}

Response Calibrations::first_page(const std::string& trouble, const Fields& said) const {
    std::string records;
    for (const std::string& record : records_in(place_.folder))
        records += element("li", "", escaped(record));
    return shown(
        "Calibrate gates",
        heading1("Calibrate gates") + trouble +
            text_line(
                "A gate that overlooks seeds makes a healthy unit look bad. A record says how many "
                "it overlooks; audits and batches put them back.",
                "lead") +
            form_of(place_.folder, said) +
            (records.empty()
                 ? std::string{}
                 : heading2("Records that are here") + element("ul", "class=\"plain\"", records)));
}

// Looked at first: only then it is known whether it gives one record or several.
Response Calibrations::found(const Fields& form, const Words& words,
                             const std::shared_ptr<Progress>& progress) const {
    const auto failed = [&](const std::string& text) {
        return first_page(said_wrong(usage_error("", without_folder(text, place_.folder))), form);
    };
    const auto looked = run_program(with(words, "--json"), progress);
    if (!looked || looked->failed())
        return failed(looked ? refusal_in(looked->text) : looked.error().message());
    const std::string to =
        place_.folder +
        (is_of_several(*looked) ? std::string{} : "/" + *form.filled("name") + std::string(ending));
    Words writing = with(words, "--write=" + to);
    if (place_.has_book())
        writing.push_back("--book=" + place_.book);
    const auto said = run_program(writing, progress);
    if (!said || said->failed())
        return failed(said ? refusal_in(said->text) : said.error().message());
    const char* const heading =
        said->status == 0 ? "Calibrated" : "Calibrated, but see what differs";
    return shown(
        heading,
        heading1(heading) +
            element("pre", "class=\"wrap\"",
                    escaped(without_options(without_folder(said->text, place_.folder)))) +
            element("div", "class=\"acts\"", button_link("/calibrations", "To the records")));
}

Response Calibrations::calibrate(const Request& request) {
    const Fields form = request.form;
    const auto words = words_of(form);
    if (!words)
        return first_page(said_wrong(words.error()), form);
    return jobs_.run("Calibrating", "/calibrations",
                     [this, form, words = *words](const std::shared_ptr<Progress>& progress) {
                         return found(form, words, progress);
                     });
}

Response Calibrations::shown(const std::string& title, const std::string& body) const {
    return {.body = page({.title = title, .here = "/batches", .body = body, .bar = bar_()})};
}

std::vector<Route> Calibrations::routes() {
    return {{Method::get, "/calibrations", [this](const Request&) { return first_page(); }},
            {Method::post, "/calibrations",
             [this](const Request& request) { return calibrate(request); }}};
}

} // namespace dropledger::station
