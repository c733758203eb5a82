#include "analysis/base/dates.hpp"
#include "bench/evidence/verify/checks.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <set>

namespace dropledger::evidence {

namespace {

constexpr std::string_view log_ending = ".droplog";

// What may lie in the folder: listed logs, copies of them, and what calibrations rest on.
struct Known {
    std::set<std::string> files;
    std::set<std::string> runs;
    std::set<std::string> chosen;
    std::optional<double> chosen_at;
};

Known known_to(const batch::Certificate& certificate) {
    Known known;
    for (const batch::TestedRun& run : certificate.runs) {
        known.files.insert(run.file);
        known.runs.insert(run.run);
    }
    for (const batch::UsedCalibration& one : certificate.calibrations)
        known.files.insert(one.found.inputs.begin(), one.found.inputs.end());
    known.chosen.insert(certificate.batch.chosen.begin(), certificate.batch.chosen.end());
    known.chosen_at = parse_rfc3339(certificate.batch.chosen_at, 0);
    return known;
}

// A chosen unit of the log; empty where it has none, or was recorded before the choice.
std::string chosen_unit(const droplog::Header& header, const Known& known) {
    const auto started = parse_rfc3339(header.started, 0);
    if (started && known.chosen_at && *started < *known.chosen_at)
        return "";
    for (const auto& [channel, settings] : header.channels)
        if (const std::string* const unit = header.find(channel, "unit");
            unit != nullptr && known.chosen.count(*unit) > 0)
            return *unit;
    return "";
}

} // namespace

void check_left_out(const LogCheck& check, Failures& failures) {
    const Known known = known_to(check.certificate);
    std::vector<std::string> names = check.folder.names();
    std::sort(names.begin(), names.end());
    for (const std::string& name : names) {
        if (!name.ends_with(log_ending) || known.files.count(name) > 0)
            continue;
        const auto found = check.means.read(check.folder.open(name), name);
        if (!found || !found->reading || known.runs.count(found->reading->header.run_id) > 0)
            continue;
        const std::string unit = chosen_unit(found->reading->header, known);
        if (!unit.empty())
            failures.push_back({"run_left_out", name,
                                fmt::format("it is a run of the chosen unit {}, begun at {}, and "
                                            "the certificate does not list it",
                                            unit, found->reading->header.started)});
    }
}

} // namespace dropledger::evidence
