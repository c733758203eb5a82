// Every batch of the folder, and how it stands: the same words as on its own page.
#include "bench/station/batches/batches.hpp"

#include "analysis/droplog/seal.hpp"
#include "analysis/report/pictures/markup.hpp"
#include "bench/commands/batch/files/batch_files.hpp"
#include "bench/commands/batch/files/batch_state.hpp"
#include "bench/io/file_source.hpp"
#include "bench/station/batches/standing_part.hpp"
#include "bench/station/pages/fields.hpp"

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include <algorithm>
#include <filesystem>

namespace dropledger::station {

using nlohmann::json;
using report::pictures::element;
using report::pictures::escaped;

namespace {

// Of them more are only named: each is read, and its statistics are worked out.
constexpr std::size_t most_with_standing = 20;

} // namespace

Result<json> Batches::state_of(const std::string& name) const {
    const auto file = file_in(place_.folder, name, batch_ending);
    if (!file)
        return file.error();
    auto state = cli::load_batch(*file).and_then(
        [](batch::Batch batch) { return cli::shown_state(std::move(batch)); });
    if (!state)
        return state.error();
    return json(*state);
}

Certified Batches::certified(const json& state, const std::string& name) const {
    const std::string stem = in_folder(stem_of(name));
    const auto signed_part = files::whole_file(stem + ".certificate.json", cli::most_batch_bytes);
    if (!signed_part)
        return std::filesystem::exists(stem + ".pdf") ? Certified::drawn : Certified::none;
    const std::string sha256 = droplog::to_hex(droplog::sha256(*signed_part));
    const json& revoked = state["revoked"];
    return std::any_of(revoked.begin(), revoked.end(),
                       [&](const json& one) { return one["sha256"] == sha256; })
               ? Certified::taken_back
               : Certified::drawn;
}

std::vector<std::string> Batches::missing_of(const json& state, const std::string& name) const {
    auto missing = missing_in(state, place_.folder);
    const bool is_accepted = !state["decision"].is_null() && state["decision"] != "not_accepted";
    if (is_accepted && state["notes"].empty() && certified(state, name) == Certified::none)
        missing.emplace_back("The certificate: it is not drawn up yet.");
    return missing;
}

std::string Batches::list_item(const NamedFile& file, bool with_standing) const {
    std::string item = link("/batches/of/" + encoded(file.name), file.name) +
                       element("span", "class=\"cap when\"", escaped("  " + file.changed));
    if (!with_standing)
        return element("li", "", item);
    const auto state = state_of(file.name);
    if (!state)
        return element(
            "li", "",
            item + text_line("It can't be read: " + without_folder(words_of(state.error()))));
    std::string standing = decision_words(*state);
    if (state->at("rehearsal").get<bool>())
        standing += " A rehearsal.";
    if (const std::string progress = progress_words(*state); !progress.empty())
        standing += " " + progress;
    item += text_line(standing);
    for (const std::string& sentence : taken_back(*state))
        item += text_line(sentence);
    if (const auto missing = missing_of(*state, file.name); !missing.empty())
        item += text_line(
            "Missing: " + missing.front() +
            (missing.size() == 1 ? "" : fmt::format(" And {} more.", missing.size() - 1)));
    return element("li", "", item);
}

std::string Batches::list_part() const {
    std::string items;
    std::size_t shown = 0;
    for (const NamedFile& file : files_in(place_.folder, batch_ending))
        items += list_item(file, shown++ < most_with_standing);
    if (items.empty())
        return {};
    const std::string list = element("ul", "class=\"plain batches\"", items);
    return shown <= most_with_standing
               ? list
               : list + text_line(fmt::format("How the {} oldest stand is on their pages.",
                                              shown - most_with_standing),
                                  "cap");
}

} // namespace dropledger::station
