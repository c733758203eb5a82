// One batch: how it stands, which units are next, and what can be done now.
#include "bench/station/batches/batches.hpp"

#include "analysis/report/pictures/markup.hpp"
#include "bench/io/file_source.hpp"
#include "bench/station/batches/program.hpp"
#include "bench/station/pages/fields.hpp"
#include "bench/station/pages/files.hpp"
#include "bench/station/pages/page.hpp"

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include <filesystem>
#include <set>

namespace dropledger::station {

using nlohmann::json;
using report::pictures::element;
using report::pictures::escaped;

namespace {

constexpr std::string_view batch_ending = ".batch.json";
constexpr std::size_t most_units_shown = 60;
constexpr std::size_t most_pdf_bytes = std::size_t{64} << 20U;

std::string stem_of(const std::string& name) {
    return name.substr(0, name.size() - batch_ending.size());
}

std::string list_of(const json& units) {
    std::string text;
    std::size_t shown = 0;
    for (const json& unit : units)
        if (++shown <= most_units_shown)
            text += (text.empty() ? "" : ", ") + unit.get<std::string>();
    return units.size() > most_units_shown
               ? text + fmt::format(", and {} more", units.size() - most_units_shown)
               : text;
}

std::string decision_words(const json& state) {
    if (!state["decision"].is_null())
        return "Decided: " + state["decision"].get<std::string>() + ".";
    if (state["choice"]["seed"].is_null())
        return "Open: the buyer's part of the choice is waited for.";
    return state["standing"]["untested"].empty() ? "Open: every chosen unit was tested."
                                                 : "Open: units are to be tested.";
}

std::string plan_words(const json& plan) {
    const auto number = [](const json& of, const char* key) { return of[key].get<std::int64_t>(); };
    if (const json& samples = plan["samples"]; !samples.is_null())
        return fmt::format(
            "{} are tested first; accepted with at most {} nonconforming, not accepted from {} on; "
            "between them {} more, accepted with at most {} in all",
            number(samples, "n1"), number(samples, "accept1"), number(samples, "reject1"),
            number(samples, "n2"), number(samples, "accept2"));
    if (const json& measured = plan["measured"]; !measured.is_null())
        return fmt::format("{} are measured; accepted where {} by mean and {:.4f} standard "
                           "deviations",
                           number(plan, "n"), measured["limit"].get<std::string>(),
                           measured["k"].get<double>());
    return fmt::format("{} are tested; accepted with at most {} nonconforming, not accepted from "
                       "{} on",
                       number(plan, "n"), number(plan, "accept"), number(plan, "reject"));
}

std::string standing_part(const json& state) {
    const json& standing = state["standing"];
    std::string text = text_line(decision_words(state), "lead");
    text += text_line(fmt::format("{} units, limits of {}. {}.", state["size"].get<std::int64_t>(),
                                  state["profile"]["name"].get<std::string>(),
                                  plan_words(state["plan"])));
    if (state["rehearsal"].get<bool>())
        text +=
            text_line("A rehearsal: simulated runs are taken, and it certifies nothing.", "word");
    std::string rows;
    for (const auto& [key, words] :
         {std::pair{"conforming", "conform"}, std::pair{"nonconforming", "do not"},
          std::pair{"undecided", "undecided"}, std::pair{"untested", "to be tested next"}})
        rows += element("dt", "", words) +
                element("dd", "",
                        escaped(fmt::format("{}{}{}", standing[key].size(),
                                            standing[key].empty() ? "" : ": ",
                                            list_of(standing[key]))));
    return text + element("dl", "class=\"context\"", rows) +
           text_line("Opening: " + state["opening"].get<std::string>(), "cap");
}

std::string runs_part(const json& state) {
    std::string rows;
    for (const json& run : state["runs"])
        rows += element(
            "tr", "",
            element("th", "scope=\"row\"", escaped(run["unit"].get<std::string>())) +
                element("td", "", escaped(run["outcome"].get<std::string>())) +
                element("td", "class=\"n\"", fmt::to_string(run["drops"].get<std::int64_t>())) +
                element("td", "", escaped(run["file"].get<std::string>())));
    return rows.empty()
               ? std::string{}
               : heading2("Runs") +
                     element("div", "class=\"wide\"",
                             element("table", "class=\"full\"", element("tbody", "", rows)));
}

std::string logs_field(const std::string& folder, const json& state) {
    std::set<std::string> taken;
    for (const json& run : state["runs"])
        taken.insert(run["file"].get<std::string>());
    std::vector<Option> logs;
    for (const NamedFile& file : files_in(folder, ".droplog"))
        if (!taken.contains(file.name))
            logs.push_back({file.name, file.name + ", " + file.changed});
    return logs.empty() ? text_line("No log is here that the batch does not have. Run the units "
                                    "that are next, signed.")
                        : tick_field({.name = "log", .label = "Logs", .options = std::move(logs)});
}

std::string calibrations_field(const std::string& folder) {
    std::vector<Option> records;
    for (const NamedFile& file : files_in(folder, ".toml")) {
        const auto text = files::whole_file(folder + "/" + file.name, std::size_t{1} << 20U);
        if (text && text->find("dropledger/calibration/") != std::string::npos)
            records.push_back({file.name, file.name});
    }
    return records.empty() ? std::string{}
                           : tick_field({.name = "calibration",
                                         .label = "Calibrations",
                                         .options = std::move(records)});
}

} // namespace

std::string Batches::acts_for(const json& state, const std::string& name) const {
    const std::string base = "/batches/of/" + encoded(name);
    const std::string stem = stem_of(name);
    std::string text;
    if (state["choice"]["seed"].is_null())
        return heading2("The buyer's part") +
               form({.action = base + "/choose",
                     .fields = text_field({"buyer-seed", "Text of the buyer",
                                           "any words; the units follow from it and from "
                                           "what was sealed at the opening",
                                           "", true}),
                     .button = "Choose the units"});
    if (state["decision"].is_null()) {
        text +=
            heading2("Add runs") +
            form({.action = base + "/add",
                  .fields = logs_field(place_.folder, state) + calibrations_field(place_.folder),
                  .button = "Add them"});
        return text + heading2("Decide") +
               form({.action = base + "/decide",
                     .fields = "",
                     .button = "Decide now",
                     .is_go = false});
    }
    text += heading2("Certificate") + form({.action = base + "/certificate",
                                            .fields = "",
                                            .button = "Draw up the certificate",
                                            .is_go = false});
    if (std::filesystem::exists(in_folder(stem + ".pdf")))
        text += element("div", "class=\"acts\"",
                        button_link(base + "/certificate.pdf", "See it (PDF)") +
                            station::act(base + "/pack", "Pack it for the buyer"));
    return text;
}

Response Batches::batch_page(const std::string& name, const std::string& trouble) const {
    const auto file = file_in(place_.folder, name, batch_ending);
    if (!file)
        return first_page(said_wrong(file.error()));
    const auto said = run_program({"batch", "show", *file, "--json"});
    if (!said || said->failed())
        return first_page(said ? said_wrong(input_error("", said->text, ""))
                               : said_wrong(said.error()));
    const json state = json::parse(said->text);
    return shown(name, heading1("Batch " + state["id"].get<std::string>()) + trouble +
                           standing_part(state) + acts_for(state, name) + runs_part(state));
}

Result<std::vector<std::string>> Batches::words_for(const std::string& act, const std::string& name,
                                                    const Fields& form) const {
    const auto file = file_in(place_.folder, name, batch_ending);
    if (!file)
        return file.error();
    const std::string stem = in_folder(stem_of(name));
    if (act == "choose")
        return std::vector<std::string>{"batch", "choose", *file, key_word(),
                                        "--buyer-seed=" + form.value("buyer-seed").value_or("")};
    if (act == "decide")
        return std::vector<std::string>{"batch", "decide", *file, key_word()};
    if (act == "certificate")
        return std::vector<std::string>{"batch",
                                        "certificate",
                                        *file,
                                        key_word(),
                                        "--logs=" + place_.folder,
                                        "--out=" + stem + ".certificate.json",
                                        "--pdf=" + stem + ".pdf"};
    if (act == "pack")
        return std::vector<std::string>{"batch", "pack", stem + ".pdf", "--logs=" + place_.folder,
                                        "--out=" + stem + "-pack"};
    if (act != "add")
        return usage_error("batch", fmt::format("there is no act '{}'", act), "");
    std::vector<std::string> words{"batch", "add", *file};
    for (const std::string& log : form.values("log")) {
        auto path = file_in(place_.folder, log, ".droplog");
        if (!path)
            return path.error();
        words.push_back(*std::move(path));
    }
    for (const std::string& record : form.values("calibration")) {
        const auto path = file_in(place_.folder, record, ".toml");
        if (!path)
            return path.error();
        words.push_back("--calibration=" + *path);
    }
    words.push_back(key_word());
    return words;
}

Response Batches::act(const Request& request) {
    const std::string name = request.parts.at(0);
    const auto words = words_for(request.parts.at(1), name, request.form);
    if (!words)
        return batch_page(name, said_wrong(words.error()));
    return jobs_.run("Batch " + name, "/batches/of/" + encoded(name),
                     [this, name, words = *words](const std::shared_ptr<Progress>& progress) {
                         const auto said = run_program(words, progress);
                         if (!said)
                             return batch_page(name, said_wrong(said.error()));
                         if (said->failed())
                             return batch_page(name, said_wrong(input_error("", said->text, "")));
                         return batch_page(name, element("div", "class=\"word\"",
                                                         element("pre", "", escaped(said->text))));
                     });
}

Response Batches::certificate(const Request& request) const {
    const auto file = file_in(place_.folder, request.parts.front(), batch_ending);
    if (!file)
        return first_page(said_wrong(file.error()));
    auto pdf =
        files::whole_file(in_folder(stem_of(request.parts.front()) + ".pdf"), most_pdf_bytes);
    if (!pdf)
        return batch_page(request.parts.front(), said_wrong(pdf.error()));
    return {.type = "application/pdf", .body = *std::move(pdf)};
}

} // namespace dropledger::station
