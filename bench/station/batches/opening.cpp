// A batch opened: its serials, limits, plan, and who chooses the units.
#include "bench/station/batches/batches.hpp"

#include "analysis/report/pictures/markup.hpp"
#include "bench/commands/inputs/profiles.hpp"
#include "bench/station/batches/program.hpp"
#include "bench/station/pages/fields.hpp"
#include "bench/station/pages/files.hpp"

#include <fmt/format.h>

#include <array>
#include <filesystem>

namespace dropledger::station {

using report::pictures::element;

namespace {

constexpr std::string_view own_ending = ".toml";

// Those that come with the program, and those of the folder.
std::vector<Option> profile_options(const std::string& folder) {
    std::vector<Option> options;
    for (const std::string& name : cli::profile_names())
        options.push_back({name, name});
    for (const NamedFile& file : files_in(folder, own_ending))
        if (cli::find_profile(folder + "/" + file.name))
            options.push_back({file.name, file.name + ", of this folder"});
    return options;
}

std::string serial_fields(const std::string& folder, const Fields& said) {
    const auto value = [&](const char* name, const char* usual = "") {
        return said.value(name).value_or(usual);
    };
    return element(
        "div", "class=\"row2\"",
        text_field({"name", "Name of the batch", "of its file: may-2026", value("name"), true}) +
            text_field(
                {"serials", "Serial numbers", "SU-0001..SU-0280 SU-0301", value("serials"), true}) +
            select_field({.name = "profile",
                          .label = "Limits",
                          .value = value("profile", "single"),
                          .options = profile_options(folder)}));
}

std::string plan_fields(const Fields& said) {
    const auto value = [&](const char* name, const char* usual = "") {
        return said.value(name).value_or(usual);
    };
    std::vector<Option> levels;
    for (const char* const level : {"I", "II", "III", "S-1", "S-2", "S-3", "S-4"})
        levels.push_back({level, level});
    const std::string tables =
        text_field({"aql", "Acceptance quality limit", "%; the tables of ISO 2859-1",
                    value("aql", "1.0"), false}) +
        select_field({"level", "Inspection level", "", value("level", "II"), std::move(levels)});
    const std::string own =
        text_field({"n", "Units to test", "", value("n"), false}) +
        text_field({"accept", "Nonconforming that still accept", "0 where nothing is said",
                    value("accept"), false}) +
        text_field({"good", "Share that should be accepted", "0.01 of nonconforming units",
                    value("good"), false}) +
        text_field({"bad", "Share that must be found out", "0.06", value("bad"), false}) +
        select_field({.name = "samples",
                      .label = "For these shares test",
                      .value = value("samples"),
                      .options = {{"", "one sample"},
                                  {"double", "two, the second only where the first is in doubt"}}});
    return element("div", "class=\"row2\"", tables) +
           element(
               "details", said.filled("n") || said.filled("good") ? "open=\"open\"" : "",
               element("summary", "", "A plan of your own instead: by numbers, or by two shares") +
                   element("div", "class=\"row2\"", own));
}

// By numbers, by two shares, or of the tables where neither is said.
void add_plan(const Fields& form, std::vector<std::string>& words) {
    const auto add = [&](const char* option, const char* field) {
        if (const auto value = form.filled(field))
            words.push_back(fmt::format("--{}={}", option, *value));
    };
    const bool own = form.filled("n") || form.filled("good") || form.filled("bad");
    for (const char* const field : {"n", "good", "bad"})
        add(field, field);
    if (form.filled("n"))
        words.push_back("--accept=" + form.filled("accept").value_or("0"));
    if (form.filled("good") && form.value("samples") == "double")
        words.emplace_back("--double");
    if (own)
        return;
    add("aql", "aql");
    add("level", "level");
}

std::vector<std::string> serial_words(const std::string& serials) {
    std::vector<std::string> words;
    for (const std::string& one : typed_list(serials, " ,;\t")) {
        const bool is_range = one.find("..") != std::string::npos;
        words.push_back("--serials=" + one + (is_range ? "" : ".." + one));
    }
    return words;
}

} // namespace

std::string opening_form(const std::string& folder, const Fields& said) {
    const std::string choices =
        radio_field({.name = "choice",
                     .label = "Who chooses the units?",
                     .value = said.value("choice").value_or("buyer"),
                     .options = {{"buyer", "chance, with a text of the buyer's"},
                                 {"drawn", "chance alone; the certificate says so"}}}) +
        radio_field(
            {.name = "rehearsal",
             .label = "Is it for real?",
             .value = said.value("rehearsal").value_or(""),
             .options = {{"", "yes"},
                         {"yes", "a rehearsal: simulated runs are taken, it certifies nothing"}}});
    return form({.action = "/batches/open",
                 .fields = serial_fields(folder, said) + plan_fields(said) + choices,
                 .button = "Open the batch"});
}

Response Batches::open(const Request& request) const {
    const Fields& form = request.form;
    const auto failed = [&](const Error& error) { return first_page(said_wrong(error), form); };
    const auto file =
        made_up_file_in(place_.folder, form.filled("name").value_or(""), batch_ending);
    if (!file)
        return failed(file.error());
    std::string profile = form.filled("profile").value_or("single");
    if (profile.ends_with(own_ending)) {
        auto own = file_in(place_.folder, profile, own_ending);
        if (!own)
            return failed(own.error());
        profile = *std::move(own);
    }
    std::vector<std::string> words{"batch", "open", *file, key_word(), "--profile=" + profile};
    const auto serials = serial_words(form.value("serials").value_or(""));
    words.insert(words.end(), serials.begin(), serials.end());
    add_plan(form, words);
    if (form.value("choice") != "drawn")
        words.emplace_back("--for-buyer");
    if (form.value("rehearsal") == "yes")
        words.emplace_back("--rehearsal");
    if (place_.book_is_named && place_.has_book() && !form.filled("n") && !form.filled("good"))
        words.push_back("--book=" + place_.book);
    const auto said = run_program(words);
    if (!said)
        return failed(said.error());
    if (said->failed())
        return failed(refusal(said->text));
    return see("/batches/of/" + encoded(std::filesystem::path(*file).filename().string()));
}

} // namespace dropledger::station
