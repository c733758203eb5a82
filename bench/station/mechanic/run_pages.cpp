// The pages of a run: what is to run, the cautions and their confirmation, the run while it goes on.
#include "bench/station/mechanic/live_part.hpp"
#include "bench/station/mechanic/ready.hpp"

#include "analysis/base/text.hpp"
#include "analysis/droplog/reasons.hpp"
#include "analysis/measures/number_words.hpp"
#include "analysis/report/html/tables.hpp"
#include "analysis/report/pictures/markup.hpp"
#include "bench/commands/run/screen/live_run.hpp"
#include "bench/station/pages/fields.hpp"
#include "bench/station/pages/files.hpp"
#include "bench/station/pages/page.hpp"
#include "bench/station/server/guard.hpp"

#include <fmt/chrono.h>
#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <ctime>
#include <filesystem>
#include <limits>
#include <map>

namespace dropledger::station {

using report::pictures::element;

namespace {

std::string free_log(const std::string& folder) {
    return fmt::format("{}/run-{:%Y%m%dT%H%M%SZ}.droplog", folder, fmt::gmtime(std::time(nullptr)));
}

std::string caution_part(const std::vector<std::string>& says) {
    std::string text = element("div", "class=\"caution\"", start_cautions_part());
    if (!says.empty())
        text += element("div", "class=\"word\"", report::html::bullet_list(says));
    return text;
}

std::string unit_or_channel(const cli::Job& job, int channel) {
    const std::string unit = recorder::setting_of(job.channels, channel, "unit");
    return unit.empty() ? fmt::format("channel {}", channel) : unit;
}

// "Still to be made: 3 drops of U-0201, 1 drop of U-0203. …"
std::string left_in_words(const cli::Job& job, const std::map<int, std::int64_t>& left) {
    std::vector<std::string> units;
    std::int64_t next = std::numeric_limits<std::int64_t>::max();
    for (const auto& [channel, drops] : left) {
        units.push_back(fmt::format("{} of {}", counted(static_cast<std::uint64_t>(drops), "drop"),
                                    unit_or_channel(job, channel)));
        next = std::min(next, drops);
    }
    return fmt::format("Still to be made: {}. One start makes the same number of each unit; the "
                       "next one makes {}.",
                       fmt::join(units, ", "), next);
}

std::string why_open(const cli::RunOutcome& done) {
    const std::string next =
        " Its log is open: go on with it from the bench's page, which can also "
        "close it as it is.";
    return (droplog::made_its_count(done.summary.end_reason)
                ? "Drops are left of some units, and nobody has let the motors start again."
                : "The run was halted because no page was open.") +
           next;
}

} // namespace

Response Mechanic::prepare(const Request& request) {
    const std::string& name = request.parts.front();
    auto options = machine_options(place_.folder, name);
    const auto failed = [&](const Error& error) {
        return machine_page(request, said_wrong(error)); // all that was typed stays
    };
    if (!options)
        return bench_page(said_wrong(options.error()));
    const auto channels = request.form.values("channel");
    if (channels.empty())
        return failed(usage_error("units", "none is ticked", "tick at least one"));
    options->channels = fmt::format("{}", fmt::join(channels, ","));
    options->until_decided = request.form.value("until") == "decided";
    if (const auto typed = request.form.filled("drops")) {
        options->drops = parse_int(*typed);
        if (!options->drops)
            return failed(
                usage_error("drops", fmt::format("'{}' is no number", *typed), "give 500, say"));
    }
    if (request.form.value("sign") == "yes")
        options->key = place_.folder + "/" + bench_key;
    options->log = free_log(place_.folder);
    if (const auto chosen = port())
        options->port = chosen;
    if (place_.book_is_named || !options->book)
        options->book = place_.book;
    auto ready = std::make_shared<Ready>();
    ready->what = name;
    ready->options = *std::move(options);
    const Status fits = work_out(*ready);
    if (!fits && ready->options.port && fits.error().kind != ErrorKind::device)
        return failed(fits.error());
    return fits ? confirm_page(ready) : bench_page(said_wrong(fits.error()));
}

Response Mechanic::prepare_resume(const Request& request) {
    const auto log = file_in(place_.folder, request.form.value("log").value_or(""), ".droplog");
    if (!log)
        return bench_page(said_wrong(log.error()));
    auto ready = std::make_shared<Ready>();
    ready->what = std::filesystem::path(*log).filename().string();
    ready->options.resume = *log;
    ready->options.port = port();
    ready->options.book = place_.book;
    if (request.form.value("sign") == "yes")
        ready->options.key = place_.folder + "/" + bench_key;
    if (const Status fits = work_out(*ready); !fits)
        return bench_page(said_wrong(fits.error()));
    return confirm_page(ready);
}

// Worked out and looked at before anybody is asked.
Status Mechanic::work_out(Ready& ready) {
    if (work_.is_on())
        return usage_error("bench", "it is at work already",
                           "halt that first, or wait for its end");
    if (!ready.options.port)
        return usage_error("bench", "nobody has said where it is",
                           "choose its port, or the virtual bench");
    auto book = cli::book_of(ready.options);
    if (!book)
        return book.error();
    ready.book = *std::move(book);
    auto job = cli::job_of(ready.options, ready.book.get(), clock_);
    if (!job)
        return job.error();
    ready.job = *std::move(job);
    ready.token = random_token();
    const bool new_start = ready.job.may_start && !ready.job.was_started;
    return new_start ? cli::look_at_bench(ready.job, ready.options, clock_) : Status{Done{}};
}

Response Mechanic::confirm_page(std::shared_ptr<Ready> ready) {
    const bool starts = ready->job.may_start;
    std::vector<std::string> says = ready->job.says;
    if (!ready->job.left.empty())
        says.push_back(ready->job.left);
    if (ready->options.book != place_.book)
        says.push_back(
            fmt::format("The run is entered in the book {}, which the machine's settings "
                        "name; the page Units shows {}.",
                        ready->options.book.value_or(""), place_.book));
    const std::string token = hidden_field("ready", ready->token);
    std::string body =
        heading1(starts ? "Ready to start" : "Ready to fetch the rest") + what_starts(*ready);
    if (starts)
        body += caution_part(says) +
                text_line("While the run is on, Esc or the large button at the foot of every page "
                          "halts the bench. It halts by itself where no page of the station is "
                          "open any more.",
                          "word");
    body += form({.action = "/run/start",
                  .fields = token,
                  .button = starts ? "The cautions are heeded: start the motors"
                                   : "Fetch and close the log"});
    if (starts && ready->job.was_started)
        body += form({.action = "/run/start",
                      .fields = token + hidden_field("close", "yes"),
                      .button = "Start nothing: fetch what is there and close the log",
                      .is_go = false});
    {
        const std::lock_guard lock(mutex_);
        ready_ = std::move(ready);
    }
    return {.body = page(
                {.title = "Ready to start", .here = "/bench", .body = body, .bar = work_.bar()})};
}

Response Mechanic::start(const Request& request) {
    std::shared_ptr<Ready> ready;
    {
        const std::lock_guard lock(mutex_);
        if (ready_ && request.form.value("ready") == ready_->token)
            ready = std::move(ready_);
        ready_.reset();
        offer_.reset();
    }
    if (!ready && work_.is_on())
        return see("/run"); // asked for twice: "nothing was started" would be wrong
    if (!ready)
        return bench_page(said_wrong(usage_error("run", "this page is old; nothing was started",
                                                 "choose machine and units again")));
    const bool closes = request.form.value("close") == "yes";
    if (ready->job.may_start && !closes)
        ready->job.plan.start = recorder::StartPrompt(clock_).told_beforehand();
    ready->job.plan.closes_unfinished = closes;
    if (const Status counted = cli::count_run(ready->options, ready->job); !counted)
        return bench_page(said_wrong(counted.error()));
    const std::string name = std::filesystem::path(ready->job.log).filename().string();
    const Status begun =
        work_.begin("Running: " + name, [this, ready](BenchWork&) { return record(ready); });
    return begun ? see("/run") : bench_page(said_wrong(begun.error()));
}

// On the work's own thread: one start of the motors, or what is fetched without one.
Result<cli::RunOutcome> Mechanic::carry_out(Ready& ready) {
    cli::Job& job = ready.job;
    cli::LiveRun live(clock_, {job.plan.order, job.channels, job.profile});
    recorder::Hooks hooks = work_.hooks();
    hooks.progress = [&](const recorder::LiveTally& tally) {
        live.take(tally);
        for (const std::string& warning : live.newly_dry())
            work_.say(warning);
        work_.show(live.model());
    };
    hooks.settled = [&](const recorder::Settled& drop) { live.settled(drop); };
    hooks.channel_name = [&](int channel) { return live.unit_name(channel); };
    return cli::work(job, ready.options, std::move(hooks), clock_);
}

// One start gives all its units the same number of drops: where different numbers are left, another
// one is asked for. Its log is gone on with as after a break.
bool Mechanic::may_start_again(Ready& ready, const cli::RunOutcome& done) {
    const std::string question = left_in_words(ready.job, done.summary.remainder);
    auto leave = work_.question(question);
    if (!leave)
        return false;
    cli::RunOptions options;
    options.resume = ready.job.log;
    options.port = ready.options.port;
    options.baud = ready.options.baud;
    options.key = ready.options.key;
    options.book = ready.options.book;
    auto job = cli::job_of(options, ready.book.get(), clock_);
    if (!job || !job->may_start) {
        work_.say(job ? "nothing is left to be made" : job.error().message());
        return false;
    }
    ready.options = std::move(options);
    ready.job = *std::move(job);
    ready.job.plan.start = std::move(leave);
    return true;
}

BenchWork::Ending Mechanic::record(const std::shared_ptr<Ready>& ready) {
    auto done = carry_out(*ready);
    while (done && ready->job.left_open && droplog::made_its_count(done->summary.end_reason) &&
           may_start_again(*ready, *done))
        done = carry_out(*ready);
    BenchWork::Ending ending;
    ending.says = cli::keep_books(ready->options, ready->book.get(), ready->job);
    if (!done)
        ending.error = done.error();
    else if (ready->job.left_open)
        ending.says.insert(ending.says.begin(), why_open(*done));
    else
        ending.page =
            "/verdict/" + encoded(std::filesystem::path(ready->job.log).filename().string());
    return ending;
}

Response Mechanic::run_page() {
    std::string body;
    const auto last = work_.last();
    if (work_.is_on()) {
        body = heading1("The run") + element("div", "id=\"live\"", work_.live());
    } else if (last && last->error) {
        body = heading1("It broke off") + said_wrong(*last->error) + work_.live();
    } else if (last && !last->page.empty()) {
        return see(last->page);
    } else if (last) {
        body = heading1(last->heading);
        for (const std::string& sentence : last->says)
            body += text_line(sentence, "lead");
        body += offer_part() + work_.live();
    } else {
        return see("/bench");
    }
    if (!work_.is_on())
        body += element("div", "class=\"acts\"", button_link("/bench", "To the bench"));
    return {.body = page({.title = "The run", .here = "/bench", .body = body, .bar = work_.bar()})};
}

} // namespace dropledger::station
