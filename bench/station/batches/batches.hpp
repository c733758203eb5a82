// The quality engineer's pages: batches and their certificates, and whether a pack holds.
//
// Assumes: the folder holds what `batch` takes: NAME.batch.json, logs, calibration records, profiles,
// bench.key. Everything is done by the command itself (program.hpp).
#pragma once

#include "bench/station/mechanic/place.hpp"
#include "bench/station/pages/files.hpp"
#include "bench/station/pages/jobs.hpp"
#include "bench/station/server/routes.hpp"

#include <nlohmann/json_fwd.hpp>

#include <functional>
#include <string>
#include <vector>

namespace dropledger::station {

// Of the certificate that lies beside a batch.
enum class Certified : std::uint8_t { none, drawn, taken_back };

class Batches {
public:
    // `bar`: of a run that is on. `jobs` outlives this.
    Batches(Place place, Jobs& jobs, std::function<std::string()> bar)
        : place_(std::move(place)), jobs_(jobs), bar_(std::move(bar)) {}

    [[nodiscard]] std::vector<Route> routes();

private:
    // `said`: what was given for an opening that failed.
    [[nodiscard]] Response first_page(const std::string& trouble = {},
                                      const Fields& said = {}) const;
    [[nodiscard]] std::string list_part() const;
    [[nodiscard]] std::string list_item(const NamedFile& file, bool with_standing) const;
    // How it stands: the call of `batch show --json`.
    [[nodiscard]] Result<nlohmann::json> state_of(const std::string& name) const;
    // What its evidence lacks, and its certificate; the next thing first.
    [[nodiscard]] std::vector<std::string> missing_of(const nlohmann::json& state,
                                                      const std::string& name) const;
    [[nodiscard]] Certified certified(const nlohmann::json& state, const std::string& name) const;
    [[nodiscard]] Response make_key() const;
    [[nodiscard]] Response open(const Request& request) const;
    // `said`: what was given for an act that failed.
    [[nodiscard]] Response batch_page(const std::string& name, const std::string& trouble = {},
                                      const Fields& said = {}) const;
    [[nodiscard]] Response act(const Request& request);
    [[nodiscard]] Response certificate(const Request& request) const;
    [[nodiscard]] Response take_file(const Request& request) const;
    [[nodiscard]] Response pack_page(const Request& request) const;
    // `said`: what was given when it was asked before.
    [[nodiscard]] Response asked(const std::string& id, const std::string& trouble,
                                 const Fields& said) const;
    // The command's words; the serials lie in a file beside the pack.
    [[nodiscard]] Result<std::vector<std::string>>
    verify_words(const std::string& id, const std::string& certificate, const Fields& form) const;
    [[nodiscard]] Response verified(const std::string& id, const std::vector<std::string>& words,
                                    const Fields& form,
                                    const std::shared_ptr<Progress>& progress) const;
    [[nodiscard]] Response verify(const Request& request);

    // The words of an act on a batch, by its name on the page; fails where there is no such act.
    [[nodiscard]] Result<std::vector<std::string>>
    words_for(const std::string& act, const std::string& name, const Fields& form) const;
    [[nodiscard]] Result<std::vector<std::string>> add_words(const std::string& file,
                                                             const Fields& form) const;
    [[nodiscard]] Result<std::vector<std::string>>
    certificate_words(const std::string& file, const std::string& stem, const Fields& form) const;
    [[nodiscard]] std::string acts_for(const nlohmann::json& state, const std::string& name,
                                       const Fields& said) const;
    [[nodiscard]] std::string certified_acts(const nlohmann::json& state,
                                             const std::string& name) const;
    // What a command said, its files by their plain names.
    [[nodiscard]] std::string without_folder(const std::string& text) const;
    [[nodiscard]] Error refusal(const std::string& text) const; // why it failed, in its words
    [[nodiscard]] std::string in_folder(const std::string& name) const {
        return place_.folder + "/" + name;
    }
    [[nodiscard]] std::string key_word() const { return "--key=" + in_folder(bench_key); }
    [[nodiscard]] bool has_key() const;
    [[nodiscard]] Response shown(const std::string& title, const std::string& body) const;

    Place place_;
    Jobs& jobs_;
    std::function<std::string()> bar_;
};

constexpr std::string_view batch_ending = ".batch.json";
[[nodiscard]] inline std::string stem_of(const std::string& name) {
    return name.substr(0, name.size() - batch_ending.size());
}
[[nodiscard]] std::string opening_form(const std::string& folder, const Fields& said);
// What the issuer states, as it was said in `file` before.
[[nodiscard]] std::string report_fields(const std::string& file);

constexpr std::size_t most_pack_file_bytes = std::size_t{256} << 20U;
constexpr std::size_t most_serials_bytes = std::size_t{16} << 20U; // as a form sends them

} // namespace dropledger::station
