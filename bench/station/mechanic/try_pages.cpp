// A machine's settings tried on the bench, and what that finds written into them once it is confirmed.
#include "bench/station/mechanic/live_part.hpp"
#include "bench/station/mechanic/ready.hpp"

#include "analysis/base/readers/nesting.hpp"
#include "analysis/report/html/tables.hpp"
#include "analysis/report/pictures/markup.hpp"
#include "bench/io/file_source.hpp"
#include "bench/station/pages/fields.hpp"
#include "bench/station/pages/files.hpp"
#include "bench/station/pages/page.hpp"
#include "bench/station/server/guard.hpp"

#include <fmt/format.h>

#include <bit>
#include <filesystem>

namespace dropledger::station {

using report::pictures::element;

namespace {

std::string name_of(const std::string& file) {
    return std::filesystem::path(file).filename().string();
}

std::vector<std::string> lines_found(const std::vector<calibration::FewDrops>& units) {
    std::vector<std::string> lines;
    for (const cli::FoundPlace& found : cli::places_found(units))
        lines.push_back(fmt::format("{}: {}", found.words(), found.line()));
    return lines;
}

std::size_t units_of(const recorder::RunPlan& plan) {
    return static_cast<std::size_t>(std::popcount(plan.order.channel_mask));
}

std::string written_body(const std::string& name, const std::vector<std::string>& lines,
                         const std::vector<std::string>& unsure) {
    std::string body = heading1("Written to " + name);
    if (!lines.empty())
        body += report::html::bullet_list(lines);
    if (!unsure.empty())
        body +=
            element("div", "class=\"word\"",
                    text_line("Still to be looked at in it:") + report::html::bullet_list(unsure));
    return body +
           element("div", "class=\"acts\"",
                   element("a", "class=\"button go\" href=\"/machine/" + encoded(name) + "\"",
                           report::pictures::escaped("Run " + name)));
}

} // namespace

void Mechanic::remember_made(const cli::Machine& machine) {
    const auto text = files::whole_file(machine.file, most_toml_bytes);
    const std::lock_guard lock(mutex_);
    if (text)
        made_[name_of(machine.file)] = {machine, *text};
}

Mechanic::Made* Mechanic::made_as_it_is(const std::string& file, const std::string& text) {
    const auto made = made_.find(name_of(file));
    return made != made_.end() && made->second.text == text ? &made->second : nullptr;
}

// Each unit by itself; each start is asked for on the run's page.
Response Mechanic::try_machine(const Request& request) {
    const std::string name = request.parts.front();
    const auto failed = [&](const Error& error) { return bench_page(said_wrong(error)); };
    const auto file = file_in(place_.folder, name, ".toml");
    if (!file)
        return failed(file.error());
    cli::Machine machine;
    machine.file = *file;
    machine.run.port = port();
    auto back = cli::read_back(*file, machine.run);
    if (!back)
        return failed(back.error());
    if (!back->options.port)
        return failed(usage_error("bench", "nobody has said where it is",
                                  "choose its port, or the virtual bench"));
    {
        const std::lock_guard lock(mutex_);
        offer_.reset();
    }
    const auto shared = std::make_shared<cli::ReadBack>(*std::move(back));
    const Status begun = work_.begin("Trying " + name, [this, machine, shared](BenchWork& work) {
        return tried(*shared, machine, work);
    });
    return begun ? see("/run") : failed(begun.error());
}

// On the work's own thread.
BenchWork::Ending Mechanic::tried(const cli::ReadBack& back, const cli::Machine& machine,
                                  BenchWork& work) {
    using Asked = Result<std::optional<recorder::StartConfirmed>>;
    cli::TryTalk talk;
    talk.hooks = work.hooks();
    talk.ask = [&work](const std::string& unit) { return Asked{work.question(unit)}; };
    auto found = cli::tried(back, machine, talk, clock_);
    BenchWork::Ending ending;
    if (!found) {
        ending.error = found.error();
        return ending;
    }
    ending.heading = "What the try found";
    ending.says = cli::report_of(*found);
    const bool all = found->units.size() == units_of(back.plan);
    if (!all)
        ending.says.push_back(
            fmt::format("{} of {} units were tried.", found->units.size(), units_of(back.plan)));
    auto offer =
        std::make_shared<Offer>(Offer{random_token(), machine.file, *std::move(found), all});
    const std::lock_guard lock(mutex_);
    offer_ = std::move(offer);
    return ending;
}

// A file as this station wrote it is written anew, as `setup` does; into one that a person may have
// changed go the places only.
std::string Mechanic::offer_part() {
    const std::lock_guard lock(mutex_);
    if (!offer_)
        return {};
    const std::string name = name_of(offer_->file);
    const auto lines = lines_found(offer_->tried.units);
    if (!offer_->all_units)
        return text_line("Nothing can be written before all units were tried.", "word");
    const auto text = files::whole_file(offer_->file, most_toml_bytes);
    const bool is_ours = text && made_as_it_is(offer_->file, *text) != nullptr;
    if (!is_ours && lines.empty())
        return {};
    std::string words;
    if (!lines.empty())
        words += text_line("The try shows where gates sit that the settings leave open:") +
                 report::html::bullet_list(lines);
    words += text_line(is_ours ? name + " is written anew, with this and what the try found."
                               : name + " was changed since it was set up, or is older than this "
                                        "station's start: these lines are added for each unit, "
                                        "and all else in it stays as it is.");
    return element("div", "class=\"word\"",
                   heading2("Write it into the settings?") + words +
                       form({.action = "/setup/found",
                             .fields = hidden_field("offer", offer_->token),
                             .button = "Write it to " + name}));
}

Response Mechanic::write_found(const Request& request) {
    const std::unique_lock lock(mutex_);
    const auto failed = [](const Error& error, const std::string& bar) {
        return Response{.body = page({.title = "Not written",
                                      .here = "/bench",
                                      .body = heading1("Not written") + said_wrong(error),
                                      .bar = bar})};
    };
    const std::string bar = work_.bar();
    if (!offer_ || request.form.value("offer") != offer_->token || !offer_->all_units)
        return failed(usage_error("settings", "this page is old; nothing was written",
                                  "try the machine again"),
                      bar);
    const std::string name = name_of(offer_->file);
    const auto text = files::whole_file(offer_->file, most_toml_bytes);
    if (!text)
        return failed(text.error(), bar);
    Made* const made = made_as_it_is(offer_->file, *text);
    const auto lines = lines_found(offer_->tried.units);
    if (made != nullptr)
        cli::take_places(offer_->tried.units, made->machine);
    const auto back = made != nullptr
                          ? cli::written(made->machine, cli::report_with_places(offer_->tried))
                          : cli::written_beside(offer_->file, offer_->tried.units, {});
    if (!back)
        return failed(back.error(), bar);
    const auto now = files::whole_file(offer_->file, most_toml_bytes);
    if (made != nullptr && now)
        made->text = *now;
    offer_.reset();
    std::vector<std::string> unsure = back->doubts;
    if (now)
        for (const std::string& line : cli::unsure_in(*now))
            unsure.push_back(line);
    return {.body = page({.title = "Written",
                          .here = "/bench",
                          .body = written_body(name, lines, unsure),
                          .bar = bar})};
}

} // namespace dropledger::station
