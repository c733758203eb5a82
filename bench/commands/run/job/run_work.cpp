#include "bench/commands/run/job/run_work.hpp"

#include "analysis/base/shell_word.hpp"
#include "analysis/droplog/reasons.hpp"
#include "bench/book/indexer.hpp"
#include "bench/commands/inputs/books.hpp"
#include "bench/commands/inputs/profiles.hpp"
#include "bench/io/run_counter.hpp"
#include "bench/link/transport.hpp"
#include "bench/recorder/probe.hpp"

#include <fmt/format.h>

#include <filesystem>

namespace dropledger::cli {

namespace {

void obey(std::optional<verdict::StoppingTests>& tests, recorder::Hooks& hooks) {
    if (!tests)
        return;
    hooks.settled = [&tests, also = hooks.settled](const recorder::Settled& drop) {
        tests->add(drop.channel, drop.miss, drop.over);
        also(drop);
    };
    hooks.stop = [&tests](const recorder::LiveTally&) {
        return tests->decided() ? std::optional(std::string(droplog::decided_reason))
                                : std::nullopt;
    };
    hooks.last_remarks = [&tests] { return verdict::remarks_of(tests->decisions()); };
}

// The recorder knows the log, not how its bench is reached: what it says is made a command to copy.
Error with_whole_command(Error error, const std::string& port) {
    constexpr std::string_view field = "`resume` ";
    const std::size_t at = error.remedy.find(field);
    if (at != std::string::npos)
        error.remedy.replace(at, field.size(),
                             fmt::format("dropledger run --port {} --resume ", shell_word(port)));
    return error;
}

// The log is the truth and is safe: a book that cannot be written is told, and changes nothing
// else.
std::string entered(book::Book& book, const std::string& log) {
    const auto added = book::add(book, {log}, profile_chooser(std::nullopt));
    return added ? "entered in the book " + book.file()
                 : "not entered in the book: " + added.error().message();
}

} // namespace

Result<std::unique_ptr<book::Book>> book_of(const RunOptions& options) {
    if (!options.book)
        return std::unique_ptr<book::Book>{};
    auto book = open_book(*options.book, true);
    if (!book)
        return book.error();
    return std::make_unique<book::Book>(*std::move(book));
}

Status look_at_bench(const Job& job, const RunOptions& options, recorder::Clock& clock) {
    constexpr Microseconds patience{4'000'000}; // a controller that its port resets takes 2 s
    const std::string& port = *options.port;
    auto link =
        link::open_transport(port, static_cast<int>(options.baud.value_or(link::default_baud)));
    if (!link)
        return link.error();
    const auto answer = recorder::probe(**link, clock, patience);
    if (!answer)
        return device_error(
            port, "no bench answers there",
            "check power, cable and baud rate; `dropledger run --list-ports` shows the ports");
    const auto lacking = recorder::lacking_channels(job.plan.order.channel_mask, answer->channels);
    return lacking ? Status{*lacking} : Status{Done{}};
}

Status count_run(const RunOptions& options, Job& job) {
    if (!options.key || job.goes_on)
        return Done{};
    const auto ticket = files::take_run_number(*options.key);
    if (!ticket)
        return ticket.error();
    job.plan.settings.push_back({"run_number", std::to_string(ticket->number)});
    job.plan.settings.push_back({"previous_seal", ticket->previous_seal});
    return Done{};
}

Result<RunOutcome> work(Job& job, const RunOptions& options, recorder::Hooks hooks,
                        recorder::Clock& clock) {
    const std::string& port = *options.port;
    const int baud = static_cast<int>(options.baud.value_or(link::default_baud));
    const recorder::Bench bench{[&] { return link::open_transport(port, baud); }, clock};
    std::optional<verdict::StoppingTests> tests;
    if (job.rule)
        tests.emplace(*job.rule, job.plan.order.channel_mask);
    obey(tests, hooks);
    const auto calibration = calibration_in(job.plan);
    const auto record_or_resume = job.goes_on ? recorder::resume : recorder::record;
    const auto summary = record_or_resume(std::move(job.plan), job.log, bench, hooks);
    if (!summary)
        return with_whole_command(summary.error(), port);
    job.left_open = summary->left_open;
    return RunOutcome{*summary, tests ? tests->decisions() : std::vector<verdict::StopDecision>{},
                      !job.goes_on, calibration, port};
}

std::vector<std::string> keep_books(const RunOptions& options, book::Book* book, const Job& job) {
    std::vector<std::string> says;
    if (!std::filesystem::exists(job.log))
        return says;
    if (options.key)
        if (const Status noted = files::note_last_seal(*options.key, job.log); !noted)
            says.push_back("the run counter beside the key was not kept: " +
                           noted.error().message());
    if (book != nullptr && !job.left_open)
        says.push_back(entered(*book, job.log));
    return says;
}

} // namespace dropledger::cli
