#include "bench/station/batches/standing_part.hpp"

#include "analysis/report/pictures/markup.hpp"
#include "bench/station/pages/fields.hpp"

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include <algorithm>
#include <filesystem>
#include <set>

namespace dropledger::station {

using nlohmann::json;
using report::pictures::element;
using report::pictures::escaped;

namespace {

constexpr std::size_t most_units_shown = 60;

std::string listed(const std::vector<std::string>& names) {
    const std::size_t shown = std::min(names.size(), most_units_shown);
    const std::string text = fmt::format(
        "{}", fmt::join(names.begin(), names.begin() + static_cast<std::ptrdiff_t>(shown), ", "));
    return shown == names.size() ? text : text + fmt::format(", and {} more", names.size() - shown);
}

std::string units(std::size_t count) {
    return fmt::format("{} {}", count, count == 1 ? "unit" : "units");
}

// Of `units` those that are among `some`.
std::vector<std::string> among(const json& units, const std::vector<std::string>& some) {
    std::vector<std::string> both;
    for (const json& one : units)
        if (std::find(some.begin(), some.end(), one.get<std::string>()) != some.end())
            both.push_back(one.get<std::string>());
    return both;
}

struct Wanted {
    std::vector<std::string> untested;
    std::vector<std::string> undecided;

    [[nodiscard]] bool empty() const { return untested.empty() && undecided.empty(); }
};

Wanted wanted_of(const json& state) {
    if (!state["decision"].is_null() || state["can_be_decided"].get<bool>())
        return {};
    const json& standing = state["standing"];
    auto sample = state["chosen"].get<std::vector<std::string>>();
    Wanted all{among(standing["untested"], sample), among(standing["undecided"], sample)};
    if (const json& samples = state["plan"]["samples"]; !samples.is_null()) {
        sample.resize(std::min(sample.size(), samples["n1"].get<std::size_t>()));
        Wanted first{among(standing["untested"], sample), among(standing["undecided"], sample)};
        if (!first.empty())
            return first;
    }
    return all;
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

std::size_t decided_units(const json& state) {
    return state["standing"]["conforming"].size() + state["standing"]["nonconforming"].size();
}

std::string progress(const json& state) {
    const std::size_t all = state["chosen"].size();
    if (all == 0)
        return {};
    return text_line(progress_words(state)) +
           fmt::format("<svg class=\"progress\" viewBox=\"0 0 1000 10\" "
                       "preserveAspectRatio=\"none\" aria-hidden=\"true\"><rect width=\"{}\" "
                       "height=\"10\" /></svg>",
                       1000 * decided_units(state) / all);
}

// What a run's row says beside its outcome.
std::string remark(const json& run) {
    if (!run["taken_out"].is_null())
        return "taken out of the count";
    if (run["held_back"] == "halted_early")
        return "it was halted early, which can't be within";
    if (run["held_back"] == "calibration_contradicted")
        return "it contradicts its calibration, which can't be within";
    return run["counted"].get<bool>() ? run["reason"].get<std::string>() : "does not count";
}

void add_lacking_files(const json& state, const std::string& folder,
                       std::vector<std::string>& missing) {
    std::set<std::string> told;
    for (const json& run : state["runs"])
        if (const std::string file = run["file"];
            !std::filesystem::exists(std::filesystem::path(folder) / file) &&
            told.insert(file).second)
            missing.push_back(fmt::format("The log {} is not in this folder: certificate and pack "
                                          "need it.",
                                          file));
}

} // namespace

std::vector<std::string> next_units(const json& state) {
    Wanted wanted = wanted_of(state);
    wanted.untested.insert(wanted.untested.end(), wanted.undecided.begin(), wanted.undecided.end());
    return std::move(wanted.untested);
}

std::string decision_words(const json& state) {
    if (const json& decision = state["decision"]; !decision.is_null()) {
        const auto word = decision.get<std::string>();
        return word == "not_accepted" ? "Decided: not accepted."
               : word == "accepted"   ? "Decided: accepted."
                                      : "Decided: accepted; the next batch is inspected normally.";
    }
    if (state["choice"]["seed"].is_null())
        return "Open: the buyer's part of the choice is waited for.";
    return state["can_be_decided"].get<bool>() ? "Open: it can be decided now."
                                               : "Open: units are to be tested.";
}

std::string progress_words(const json& state) {
    const std::size_t all = state["chosen"].size();
    return all == 0 ? std::string{}
                    : fmt::format("{} of {} chosen units have a run that decides.",
                                  decided_units(state), all);
}

std::vector<std::string> taken_back(const json& state) {
    std::vector<std::string> sentences;
    for (const json& one : state["revoked"]) {
        std::string cause = one["cause"];
        std::replace(cause.begin(), cause.end(), '_', ' ');
        sentences.push_back(fmt::format(
            "Certificate {} was taken back on {} ({}): {}", one["certificate"].get<std::string>(),
            one["at"].get<std::string>().substr(0, 10), cause, one["text"].get<std::string>()));
    }
    return sentences;
}

std::vector<std::string> missing_in(const json& state, const std::string& folder) {
    std::vector<std::string> missing;
    const bool is_open = state["decision"].is_null();
    if (state["choice"]["seed"].is_null())
        missing.emplace_back("The buyer's part of the choice: no unit is chosen before it.");
    const auto [untested, undecided] = wanted_of(state);
    if (!untested.empty())
        missing.push_back(fmt::format("Signed runs of {}, to be tested next: {}.",
                                      units(untested.size()), listed(untested)));
    if (!undecided.empty())
        missing.push_back(fmt::format("More drops of {} whose runs decide nothing yet: {}.",
                                      units(undecided.size()), listed(undecided)));
    for (const json& note : state["notes"])
        missing.push_back(note.get<std::string>());
    add_lacking_files(state, folder, missing);
    if (is_open && state["can_be_decided"].get<bool>() && missing.empty())
        missing.emplace_back("The decision: everything that it rests on is here.");
    else if (is_open && missing.empty())
        missing.emplace_back("More runs: the plan can't decide by those that are here.");
    return missing;
}

std::string missing_part(const std::vector<std::string>& missing) {
    std::string items;
    for (const std::string& one : missing)
        items += element("li", "", escaped(one));
    return items.empty() ? std::string{}
                         : heading2("What is missing") + element("ul", "class=\"plain\"", items);
}

std::string standing_part(const json& state) {
    const json& standing = state["standing"];
    std::string text = text_line(decision_words(state), "lead");
    for (const std::string& sentence : taken_back(state))
        text += text_line(sentence, "word");
    text += progress(state);
    text += text_line(fmt::format("{} units, limits of {}. {}.", state["size"].get<std::int64_t>(),
                                  state["profile"]["name"].get<std::string>(),
                                  plan_words(state["plan"])));
    if (state["rehearsal"].get<bool>())
        text +=
            text_line("A rehearsal: simulated runs are taken, and it certifies nothing.", "word");
    std::string rows;
    for (const auto& [key, words] :
         {std::pair{"conforming", "conform"}, std::pair{"nonconforming", "do not conform"},
          std::pair{"undecided", "undecided"}, std::pair{"untested", "not tested"}}) {
        const auto units = standing[key].get<std::vector<std::string>>();
        rows += element("dt", "", words) +
                element("dd", "",
                        escaped(fmt::format("{}{}{}", units.size(), units.empty() ? "" : ": ",
                                            listed(units))));
    }
    return text + element("dl", "class=\"context\"", rows) +
           text_line("Opening: " + state["opening"].get<std::string>(), "cap");
}

std::string runs_part(const json& state) {
    std::string head;
    for (const char* const name : {"unit", "outcome", "drops", "log", "remark"})
        head += element("th", "scope=\"col\"", name);
    std::string rows;
    for (const json& run : state["runs"])
        rows += element("tr", "",
                        element("th", "scope=\"row\"", escaped(run["unit"].get<std::string>())) +
                            element("td", "", escaped(run["outcome"].get<std::string>())) +
                            element("td", "", fmt::to_string(run["drops"].get<std::int64_t>())) +
                            element("td", "", escaped(run["file"].get<std::string>())) +
                            element("td", "", escaped(remark(run))));
    return rows.empty() ? std::string{}
                        : heading2("Runs") +
                              report::pictures::scrolling(
                                  "runs", element("table", "class=\"full\"",
                                                  element("thead", "", element("tr", "", head)) +
                                                      element("tbody", "", rows)));
}

} // namespace dropledger::station
