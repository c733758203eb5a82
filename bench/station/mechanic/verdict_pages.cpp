#include "bench/station/mechanic/verdict_pages.hpp"

#include "analysis/droplog/reasons.hpp"
#include "analysis/report/html/page.hpp"
#include "analysis/report/html/sheet.hpp"
#include "analysis/report/pictures/markup.hpp"
#include "analysis/report/words/machine_sheet.hpp"
#include "bench/recorder/protocol/lines/words.hpp"
#include "bench/station/mechanic/before_after_pages.hpp"
#include "bench/station/mechanic/ready.hpp"
#include "bench/station/pages/fields.hpp"
#include "bench/station/pages/files.hpp"
#include "bench/station/pages/page.hpp"

#include <fmt/format.h>

namespace dropledger::station {

using report::pictures::element;

namespace {

Response wrong(const Error& error, const std::string& bar) {
    return {.body = page({.title = "Verdict",
                          .here = "/bench",
                          .body = heading1("No verdict") + said_wrong(error),
                          .bar = bar})};
}

// To the machine's page with these units ticked.
std::string retest(const std::string& machine, const std::vector<std::string>& units,
                   const std::string& words) {
    std::string where = "/machine/" + encoded(machine);
    for (const std::string& unit : units)
        where += (unit == units.front() ? "?unit=" : "&unit=") + encoded(unit);
    return button_link(where, words);
}

// Of the units that are not within, on each machine that has them.
std::string retests(const Place& place, const audit::AuditReport& report) {
    constexpr std::size_t most_by_name = 3;
    std::string acts;
    for (const std::string& machine : machines_in(place.folder)) {
        std::vector<std::string> units;
        for (const audit::ChannelReport& channel : report.channels)
            if (channel.judgement.outcome != verdict::Outcome::within && !channel.unit.empty() &&
                machine_has(place.folder, machine, channel.unit))
                units.push_back(channel.unit);
        if (units.size() > most_by_name) {
            acts += retest(machine, units, fmt::format("Run these {} again", units.size()));
            continue;
        }
        for (const std::string& unit : units)
            acts += retest(machine, {unit}, "Run " + unit + " again");
    }
    return acts;
}

// Where neither the number of drops nor a person has ended it.
std::string why_it_ended(const audit::AuditReport& report) {
    const auto reason = droplog::halt_reason_of(report.halted_reason);
    if (report.halted_reason.empty() || reason == droplog::HaltReason::count ||
        reason == droplog::HaltReason::host)
        return {};
    return element("div", "class=\"said-wrong\"",
                   text_line("The run " + recorder::halt_in_words(report.halted_reason) + "."));
}

template <class Show>
Response of_log(const Place& place, Jobs& jobs, const Request& request, const std::string& bar,
                Show show) {
    const std::string& name = request.parts.front();
    const auto log = file_in(place.folder, name, ".droplog");
    if (!log)
        return wrong(log.error(), bar);
    return jobs.run("Auditing " + name, "/bench",
                    [place, log = *log, bar, show](const std::shared_ptr<Progress>& progress) {
                        const auto report = audited(place, log, progress);
                        return report ? show(*report, progress) : wrong(report.error(), bar);
                    });
}

} // namespace

Response verdict_page(const Place& place, Jobs& jobs, const Request& request,
                      const std::string& bar) {
    const std::string& name = request.parts.front();
    const auto before = request.query.filled("before");
    return of_log(place, jobs, request, bar,
                  [place, name, bar, before](const audit::AuditReport& report,
                                             const std::shared_ptr<Progress>& progress) {
                      std::string body = element(
                          "div", "class=\"acts\"",
                          button_link("/sheet/" + encoded(name), "The sheet to print and sign") +
                              retests(place, report));
                      body += why_it_ended(report) + choose_before(place, report, before);
                      if (before)
                          body += before_and_after(place, report, *before, progress);
                      body += report::html::audit_body(report);
                      return Response{.body = page({.title = "Verdict on " + name,
                                                    .here = "/bench",
                                                    .body = body,
                                                    .bar = bar,
                                                    .scripts = {"go_to_drop.js"},
                                                    .as_report = true})};
                  });
}

Response sheet_page(const Place& place, Jobs& jobs, const Request& request,
                    const std::string& bar) {
    const std::string& name = request.parts.front();
    return of_log(place, jobs, request, bar,
                  [name, bar](const audit::AuditReport& report, const std::shared_ptr<Progress>&) {
                      const auto sheet = report::machine_sheet(report);
                      if (!sheet)
                          return wrong(input_error(name, "it is of no machine", ""), bar);
                      return Response{
                          .body = page({.title = "Sheet of " + name,
                                        .here = "/bench",
                                        .body = element("div", "class=\"acts\"",
                                                        "<button type=\"button\" class=\"go\" "
                                                        "data-print=\"print\">Print it</button>" +
                                                            button_link("/verdict/" + encoded(name),
                                                                        "Back to the verdict")) +
                                                report::html::sheet_section(*sheet),
                                        .bar = bar,
                                        .scripts = {"print.js"},
                                        .as_report = true})};
                  });
}

} // namespace dropledger::station
