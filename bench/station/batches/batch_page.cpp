// One batch: how it stands, which units are next, and what can be done now.
#include "bench/station/batches/batches.hpp"

#include "analysis/base/dates.hpp"
#include "analysis/batch/chain/revocation.hpp"
#include "analysis/batch/runs/tested_run.hpp"
#include "analysis/report/pictures/markup.hpp"
#include "bench/io/file_source.hpp"
#include "bench/station/batches/program.hpp"
#include "bench/station/batches/standing_part.hpp"
#include "bench/station/pages/fields.hpp"
#include "bench/station/pages/files.hpp"
#include "bench/station/pages/page.hpp"

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <set>

namespace dropledger::station {

using nlohmann::json;
using report::pictures::element;
using report::pictures::escaped;

namespace {

constexpr std::size_t most_pdf_bytes = std::size_t{64} << 20U;

// As it was given for an act that failed; everything where none did.
bool is_ticked(const Fields& said, const char* name, const std::string& value) {
    const auto values = said.values(name);
    return said.all().empty() || std::find(values.begin(), values.end(), value) != values.end();
}

// A run counts that began after the units were chosen: what was written before the batch was opened
// cannot be one.
Option log_option(const NamedFile& file, const json& state, const Fields& said) {
    const auto opened_s = parse_rfc3339(state["opened"].get<std::string>(), 0);
    const bool is_older = opened_s && static_cast<double>(file.changed_s) < std::floor(*opened_s);
    return {file.name,
            fmt::format("{}, {}{}", file.name, file.changed,
                        is_older ? ": from before this batch was opened" : ""),
            is_ticked(said, "log", file.name) && !(said.all().empty() && is_older)};
}

std::string logs_field(const std::string& folder, const json& state, const Fields& said) {
    std::set<std::string> taken;
    for (const json& run : state["runs"])
        taken.insert(run["file"].get<std::string>());
    std::vector<Option> logs;
    for (const NamedFile& file : files_in(folder, ".droplog"))
        if (!taken.contains(file.name))
            logs.push_back(log_option(file, state, said));
    return logs.empty() ? std::string{}
                        : tick_field({.name = "log", .label = "Logs", .options = std::move(logs)});
}

std::string calibrations_field(const std::string& folder, const Fields& said) {
    std::vector<Option> records;
    for (const std::string& record : records_in(folder))
        records.push_back({record, record, is_ticked(said, "calibration", record)});
    return records.empty()
               ? text_line(
                     "No calibration record is here; a certificate needs one of the gate that "
                     "counts, and a run without it stands in the batch for good.") +
                     link("/calibrations", "Calibrate gates")
               : tick_field({.name = "calibration",
                             .label = "Calibrations",
                             .options = std::move(records)});
}

} // namespace

namespace {

// "hopper_not_filled" is a cause; on the page it has blanks.
template <class Rows> std::vector<Option> causes_of(const Rows& rows) {
    std::vector<Option> options;
    for (const auto& row : rows) {
        std::string words(row.key);
        std::replace(words.begin(), words.end(), '_', ' ');
        options.push_back({std::string(row.key), words});
    }
    return options;
}

std::string folded(const char* summary, const std::string& content) {
    return element("details", "", element("summary", "", summary) + content);
}

std::string choose_act(const std::string& base, const json& state, const Fields& said) {
    return heading2("The buyer's part") +
           text_line(
               "Tell the buyer this first, and let him keep it: it binds the bench's own part "
               "of the choice. Then ask him for any text.") +
           element("pre", "", escaped(state["opening"].get<std::string>())) +
           form({.action = base + "/choose",
                 .fields =
                     text_field({"buyer-seed", "Text of the buyer",
                                 "any words; the units follow from it and from what was sealed "
                                 "at the opening",
                                 said.value("buyer-seed").value_or(""), true}),
                 .button = "Choose the units"});
}

std::string void_act(const std::string& base, const json& state) {
    std::vector<Option> runs;
    for (const json& run : state["runs"])
        if (run["taken_out"].is_null())
            runs.push_back(
                {run["run"].get<std::string>() + "/" + run["unit"].get<std::string>(),
                 run["unit"].get<std::string>() + ", " + run["file"].get<std::string>()});
    if (runs.empty())
        return {};
    const std::string fields =
        select_field({.name = "run", .label = "Run", .options = std::move(runs)}) +
        select_field({.name = "cause",
                      .label = "What the bench did wrong",
                      .options = causes_of(batch::void_cause_names)}) +
        text_field({"reason", "What was seen", "in words; it stands in the certificate", "", true});
    return folded("Take a run out that was the bench's fault",
                  form({.action = base + "/void",
                        .fields = element("div", "class=\"row2\"", fields),
                        .button = "Take it out",
                        .is_go = false}));
}

std::string open_acts(const std::string& base, const json& state, const std::string& folder,
                      const Fields& said) {
    const bool is_ready = next_units(state).empty();
    const std::string logs = logs_field(folder, state, said);
    std::string text = heading2("Add runs");
    if (!is_ready)
        text += element("div", "class=\"acts\"",
                        button_link("/bench", "To the bench, to run the units that are next"));
    if (logs.empty())
        text += text_line("No log is here that the batch does not have.");
    else
        text += form({.action = base + "/add",
                      .fields = logs + calibrations_field(folder, said) +
                                text_field({"reason", "Why units are tested again",
                                            "only where one has a run within or outside already",
                                            said.value("reason").value_or(""), false}),
                      .button = "Add them",
                      .is_go = !is_ready});
    return text + void_act(base, state) + heading2("Decide") +
           form({.action = base + "/decide",
                 .fields = "",
                 .button = "Decide now",
                 .is_go = is_ready});
}

// Most acts say how the batch stands, which the page shows anyway.
std::string done_part(const std::string& act, const std::string& text, const std::string& folder) {
    const std::string said = element("pre", "", escaped(text));
    if (act == "pack")
        return element("div", "class=\"word\"",
                       text_line("The pack is a folder in " + folder + ".") + said);
    return element("div", "class=\"word\"",
                   act == "certificate" ? said
                                        : folded("Done. The batch in the command's words", said));
}

std::string revoke_act(const std::string& base) {
    const std::string fields =
        select_field(
            {.name = "cause",
             .label = "What was wrong",
             .help = "after a wrong report another can be drawn up; else open another batch",
             .options = causes_of(batch::revocation_cause_names)}) +
        text_field({"reason", "Reason", "in words", "", true});
    return folded("Take the certificate back",
                  form({.action = base + "/revoke",
                        .fields = element("div", "class=\"row2\"", fields),
                        .button = "Take it back",
                        .is_go = false}));
}

} // namespace

std::string Batches::certified_acts(const json& state, const std::string& name) const {
    const std::string base = "/batches/of/" + encoded(name);
    const std::string stem = stem_of(name);
    const bool is_drawn = std::filesystem::exists(in_folder(stem + ".pdf"));
    const bool is_valid = certified(state, name) == Certified::drawn;
    const bool is_accepted = state["decision"] != "not_accepted";
    std::string text =
        heading2(is_drawn && !is_valid ? "Certificate that was taken back" : "Certificate");
    if (is_drawn) {
        const std::string pdf = base + "/certificate.pdf";
        const std::string pack =
            is_valid ? station::act(base + "/pack", "Pack it for the buyer") : std::string{};
        text +=
            element("div", "class=\"acts\"", button_link(pdf, "Open it by itself (PDF)") + pack) +
            element(
                "iframe",
                fmt::format(
                    "class=\"paper\" title=\"The certificate\" src=\"{}#view=FitH&amp;navpanes=0\"",
                    pdf),
                "") +
            (is_valid ? revoke_act(base) : std::string{});
    }
    const std::string again =
        text_line(is_accepted
                      ? "What is left out here is printed as not stated; none of it is checked."
                      : "The batch was not accepted: this signs its evidence, and says so.") +
        form({.action = base + "/certificate",
              .fields = report_fields(in_folder(stem + ".report.toml")) +
                        (is_accepted ? "" : hidden_field("not-accepted", "yes")),
              .button = is_accepted ? "Draw up the certificate" : "Sign the evidence",
              .is_go = !is_drawn});
    return text + (is_drawn ? folded("Draw it up anew", again) : again);
}

std::string Batches::acts_for(const json& state, const std::string& name,
                              const Fields& said) const {
    const std::string base = "/batches/of/" + encoded(name);
    const std::string acts = state["choice"]["seed"].is_null() ? choose_act(base, state, said)
                             : state["decision"].is_null()
                                 ? open_acts(base, state, place_.folder, said)
                                 : certified_acts(state, name);
    return element("div", "class=\"noprint\"", acts);
}

Response Batches::batch_page(const std::string& name, const std::string& trouble,
                             const Fields& said) const {
    const auto state = state_of(name);
    if (!state)
        return first_page(said_wrong(refusal(state.error().message())));
    return shown(name, heading1("Batch " + state->at("id").get<std::string>()) + trouble +
                           standing_part(*state) + missing_part(missing_of(*state, name)) +
                           acts_for(*state, name, said) + runs_part(*state));
}

Response Batches::act(const Request& request) {
    const std::string name = request.parts.at(0);
    const std::string act = request.parts.at(1);
    const auto words = words_for(act, name, request.form);
    if (!words)
        return batch_page(name, said_wrong(words.error()), request.form);
    return jobs_.run("Batch " + name, "/batches/of/" + encoded(name),
                     [this, name, act, form = request.form,
                      words = *words](const std::shared_ptr<Progress>& progress) {
                         const auto said = run_program(words, progress);
                         if (!said)
                             return batch_page(name, said_wrong(said.error()), form);
                         const std::string text = without_folder(said->text);
                         if (said->failed() || (act == "certificate" && said->status != 0))
                             return batch_page(name, said_wrong(refusal(said->text)), form);
                         if (act == "decide" && said->status == 2)
                             return batch_page(name,
                                               said_wrong(input_error("", "it can't be decided yet",
                                                                      "see what is missing")));
                         return batch_page(name, done_part(act, text, place_.folder));
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
