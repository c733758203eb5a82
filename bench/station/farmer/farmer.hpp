// The farmer's pages: a table dropped, its columns said once, and what to do in the morning.
//
// Assumes: tables lie in the folder as they were dropped, logs of the machine in `field-logs` in it: they
// are none of the bench's; what the columns of one mean stands in
// TABLE.mapping.toml beside it, what was said last in field-mapping.toml too (proposed for the next
// one), what was dug up in TABLE.found.csv: the files that `field` takes.
#pragma once

#include "bench/commands/field/field_audit.hpp"
#include "bench/station/pages/jobs.hpp"
#include "bench/station/server/routes.hpp"

#include <functional>
#include <mutex>
#include <string>
#include <string_view>
#include <vector>

namespace dropledger::station {

constexpr std::size_t most_dropped_bytes = std::size_t{128} << 20U;
constexpr std::string_view log_ending = ".droplog";

class Farmer {
public:
    // `bar`: of a run that is on. `jobs` outlives this.
    Farmer(std::string folder, Jobs& jobs, std::function<std::string()> bar)
        : folder_(std::move(folder)), jobs_(jobs), bar_(std::move(bar)) {}

    [[nodiscard]] std::vector<Route> routes();

private:
    [[nodiscard]] Response first_page(const std::string& trouble = {}) const;
    [[nodiscard]] Response invent_night() const; // to try all this on
    [[nodiscard]] Response take_file(const Request& request) const;
    [[nodiscard]] Response look_page(const Request& request, const std::string& trouble = {}) const;
    [[nodiscard]] Response take_mapping(const Request& request) const;
    [[nodiscard]] Response result_page(const Request& request);
    [[nodiscard]] Response trouble_page(const Fields& query, Error error) const;
    [[nodiscard]] Response file_of_result(const Request& request);
    [[nodiscard]] Response take_findings(const Request& request) const;
    [[nodiscard]] Response take_walk(const Request& request) const; // filled in

    // Tables only, or logs only.
    [[nodiscard]] Result<std::vector<std::string>> tables_of(const Fields& fields) const;
    [[nodiscard]] std::string logs_folder() const { return folder_ + "/field-logs"; }
    [[nodiscard]] std::string mapping_file() const { return folder_ + "/field-mapping.toml"; }
    [[nodiscard]] static std::string mapping_of(const std::string& table) {
        return table + ".mapping.toml";
    }
    // Beside the first of the tables; other ones with it, another file: passes are named otherwise then.
    [[nodiscard]] static std::string found_of(const std::vector<std::string>& tables);
    // Whether it was said of all these tables, alike; logs need none.
    [[nodiscard]] static bool is_said(const std::vector<std::string>& tables);
    // What the page asks for, in the command's own words.
    [[nodiscard]] Result<cli::FieldJob> job_of(const Fields& query) const;
    [[nodiscard]] Response shown(const std::string& title, const std::string& body,
                                 std::vector<std::string_view> scripts = {"field_script.js"}) const;

    std::string folder_;
    mutable std::mutex findings_; // of their file
    Jobs& jobs_;
    std::function<std::string()> bar_;
};

// Whether it is of logs; tables_of has seen to it that it is of nothing else then.
[[nodiscard]] bool is_of_logs(const Fields& query);
// A query: the tables only; and whole.
[[nodiscard]] std::string tables_again(const Fields& fields);
[[nodiscard]] std::string query_again(const Fields& query);
// Fields that are not shown, in the same way.
[[nodiscard]] std::string hidden_again(const Fields& query);
[[nodiscard]] std::string hidden_whole(const Fields& query);

} // namespace dropledger::station
