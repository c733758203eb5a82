#include "bench/station/mechanic/before_after_pages.hpp"

#include "analysis/audit/before_after.hpp"
#include "analysis/report/html/change_section.hpp"
#include "analysis/report/pictures/markup.hpp"
#include "bench/book/book.hpp"
#include "bench/commands/inputs/books.hpp"
#include "bench/commands/run/job/run_verdict.hpp"
#include "bench/commands/run/job/run_work.hpp"
#include "bench/commands/shell/dates.hpp"
#include "bench/io/file_source.hpp"
#include "bench/station/mechanic/book_pages.hpp"
#include "bench/station/pages/fields.hpp"
#include "bench/station/pages/files.hpp"
#include "bench/station/pages/page.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <filesystem>

namespace dropledger::station {

using report::pictures::element;
using report::pictures::escaped;

namespace {

namespace fs = std::filesystem;

std::uint64_t size_of(const std::string& file) {
    std::error_code none;
    const auto size = fs::file_size(file, none);
    return none ? 0 : size;
}

bool has_unit_of(const book::Run& run, const audit::AuditReport& report) {
    return std::any_of(run.verdicts.begin(), run.verdicts.end(), [&](const book::Verdict& one) {
        return !one.unit.empty() &&
               std::any_of(report.channels.begin(), report.channels.end(),
                           [&](const auto& channel) { return channel.unit == one.unit; });
    });
}

// Worth choosing without being asked; what can be compared, the comparison itself decides.
bool ran_alike(const book::Run& run, const audit::AuditReport& report) {
    const auto& speed = report.setup.speed_um_s;
    return run.complete && run.seals_intact && run.mode == report.setup.mode &&
           run.profile == report.profile.name &&
           (!speed || !run.speed_mps ||
            std::abs(*run.speed_mps - static_cast<double>(*speed) * 1e-6) < 1e-9);
}

Option option_of(const std::string& name, const book::Run& run) {
    return {name, fmt::format("{}, {}: {}", cli::local_words(run.started), name,
                              verdict::name_of(run.outcome))};
}

struct Choice {
    std::vector<Option> options; // the newest first
    std::string usual;
};

Choice earlier_runs(const Place& place, const audit::AuditReport& report) {
    Choice choice;
    if (!place.has_book())
        return choice;
    const auto book = cli::open_book(place.book, false);
    if (!book)
        return choice;
    const auto runs = book->runs();
    if (!runs)
        return choice;
    for (auto run = runs->rbegin(); run != runs->rend(); ++run) {
        const auto name = name_here(place, *book, *run);
        if (!name || run->run_id == report.run_id || run->started > report.started ||
            !has_unit_of(*run, report))
            continue;
        choice.options.push_back(option_of(*name, *run));
        if (choice.usual.empty() && ran_alike(*run, report))
            choice.usual = *name;
    }
    return choice;
}

std::string asking(const std::string& where, const std::string& fields) {
    return element(
        "form", fmt::format("class=\"fill noprint\" method=\"get\" action=\"{}\"", escaped(where)),
        fields + element("div", "class=\"acts\"",
                         element("button", "type=\"submit\"", "Show before and after")));
}

// The earlier one first.
Result<audit::BeforeAfter> compared(const audit::AuditReport& one,
                                    const audit::AuditReport& other) {
    return one.started <= other.started ? audit::before_and_after(one, other)
                                        : audit::before_and_after(other, one);
}

std::string not_comparable(const Error& error) {
    return heading2("Before and after") + said_wrong(error);
}

} // namespace

Result<audit::AuditReport> audited(const Place& place, const std::string& log,
                                   const std::shared_ptr<Progress>& progress) {
    cli::RunOptions options;
    if (place.has_book())
        options.book = place.book;
    const auto book = cli::book_of(options);
    if (!book)
        return book.error();
    auto report = cli::audited(options, book->get(), log,
                               progress->counted(files::open_file(log), size_of(log)));
    if (report)
        report->file = fs::path(log).filename().string();
    return report;
}

std::string choose_before(const Place& place, const audit::AuditReport& report,
                          const std::optional<std::string>& chosen) {
    Choice choice = earlier_runs(place, report);
    if (choice.options.empty())
        return {};
    return asking("/verdict/" + encoded(report.file),
                  select_field({.name = "before",
                                .label = "Side by side with an earlier run of these units",
                                .value = chosen.value_or(choice.usual),
                                .options = std::move(choice.options)}));
}

std::string before_and_after(const Place& place, const audit::AuditReport& after,
                             const std::string& before, const std::shared_ptr<Progress>& progress) {
    const auto log = file_in(place.folder, before, ".droplog");
    if (!log)
        return not_comparable(log.error());
    const auto report = audited(place, *log, progress);
    if (!report)
        return not_comparable(report.error());
    const auto found = compared(*report, after);
    return found ? report::html::change_section(*found) : not_comparable(found.error());
}

std::string choose_two(const Place& place, const std::string& unit,
                       const std::vector<book::Run>& runs) {
    const auto book = cli::open_book(place.book, false);
    std::vector<Option> options;
    if (book)
        for (auto run = runs.rbegin(); run != runs.rend(); ++run)
            if (const auto name = name_here(place, *book, *run))
                options.push_back(option_of(*name, *run));
    if (options.size() < 2)
        return {};
    const std::string last = options[0].value;
    const std::string one_before = options[1].value;
    return heading2("Before and after") +
           asking(
               "/units/" + encoded(unit) + "/before-and-after",
               select_field(
                   {.name = "before", .label = "Before", .value = one_before, .options = options}) +
                   select_field(
                       {.name = "after", .label = "After", .value = last, .options = options}));
}

Response unit_before_and_after(const Place& place, Jobs& jobs, const Request& request,
                               const std::string& bar) {
    const std::string unit = request.parts.front();
    const auto before = request.query.value("before");
    const auto after = request.query.value("after");
    const auto shown = [unit, bar](const std::string& body) {
        return Response{
            .body =
                page({.title = "Before and after",
                      .here = "/units",
                      .body = heading1("Unit " + unit) + body +
                              element("div", "class=\"acts\"",
                                      button_link("/units/" + encoded(unit), "Back to the unit")),
                      .bar = bar,
                      .as_report = true})};
    };
    const auto log = file_in(place.folder, before.value_or(""), ".droplog");
    const auto other = file_in(place.folder, after.value_or(""), ".droplog");
    if (!log || !other)
        return shown(not_comparable(log ? other.error() : log.error()));
    return jobs.run("Comparing two runs", "/units/" + encoded(unit),
                    [place, unit, shown, log = *log,
                     other = *other](const std::shared_ptr<Progress>& progress) {
                        const auto one = audited(place, log, progress);
                        if (!one)
                            return shown(not_comparable(one.error()));
                        const auto two = audited(place, other, progress);
                        if (!two)
                            return shown(not_comparable(two.error()));
                        auto found = compared(*one, *two);
                        if (!found)
                            return shown(not_comparable(found.error()));
                        std::erase_if(found->units,
                                      [&](const auto& each) { return each.unit != unit; });
                        found->not_in_both.clear();
                        return shown(report::html::change_section(*found));
                    });
}

} // namespace dropledger::station
