#include "bench/station/mechanic/mechanic.hpp"

#include "analysis/report/pictures/markup.hpp"
#include "bench/commands/run/job/run_logs.hpp"
#include "bench/link/serial.hpp"
#include "bench/station/mechanic/before_after_pages.hpp"
#include "bench/station/mechanic/book_pages.hpp"
#include "bench/station/mechanic/ready.hpp"
#include "bench/station/mechanic/unit_pages.hpp"
#include "bench/station/mechanic/verdict_pages.hpp"
#include "bench/station/pages/fields.hpp"
#include "bench/station/pages/files.hpp"
#include "bench/station/pages/page.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <filesystem>

namespace dropledger::station {

using report::pictures::element;
using report::pictures::escaped;

namespace {

constexpr std::size_t most_listed = 30;

std::string_view likeness_words(link::Likeness likeness) {
    switch (likeness) {
    case link::Likeness::bench:
        return "calls itself a bench";
    case link::Likeness::adapter:
        return "could be a bench";
    case link::Likeness::unlikely:
        return "hardly a bench";
    }
    return "";
}

std::string port_form(const std::optional<std::string>& chosen) {
    std::vector<Option> options;
    const auto found = link::list_ports();
    if (found)
        for (const link::PortDescription& port : *found)
            options.push_back({port.path, fmt::format("{}  {}, {}", port.path, port.description,
                                                      likeness_words(link::bench_likeness(port)))});
    if (options.empty())
        return text_line("No port is there. Plug the bench in and see to its power and cable, or "
                         "take the "
                         "virtual bench.") +
               element("div", "class=\"acts\"", act("/bench", "Look again"));
    return form({.action = "/bench/port",
                 .fields = select_field({.name = "port",
                                         .label = "Port of the bench",
                                         .value = chosen.value_or(""),
                                         .options = options}),
                 .button = "Take this port",
                 .is_go = false});
}

std::string go_on(const std::string& folder, const std::string& log) {
    std::string acts = act("/resume", "Go on with it", hidden_field("log", log));
    if (std::filesystem::exists(folder + "/" + bench_key))
        acts += act("/resume", "Go on with it, and sign it",
                    hidden_field("log", log) + hidden_field("sign", "yes"));
    return acts;
}

std::string open_logs(const std::string& folder) {
    std::string items;
    const auto logs = files_in(folder, ".droplog");
    for (std::size_t i = 0; i < std::min(most_listed, logs.size()); ++i)
        if (!cli::is_closed(folder + "/" + logs[i].name))
            items += element("li", "",
                             element("div", "class=\"acts\"",
                                     escaped(logs[i].name + ", " + logs[i].changed) +
                                         go_on(folder, logs[i].name)));
    return items.empty()
               ? std::string{}
               : heading2("Runs that broke off") +
                     text_line(
                         "What their bench still holds is fetched, and the drops that are left "
                         "are made once you confirm.") +
                     element("ul", "class=\"plain\"", items);
}

// Machines' settings that cannot be read: else one would be missing, and nobody knows why.
std::string unreadable_part(const std::string& folder) {
    std::string text;
    for (const Error& error : unreadable_machines(folder))
        text += said_wrong(error);
    return text;
}

std::string recent_logs(const std::string& folder) {
    std::string items;
    const auto logs = files_in(folder, ".droplog");
    for (std::size_t i = 0; i < std::min(most_listed, logs.size()); ++i)
        items += element("li", "",
                         link("/verdict/" + encoded(logs[i].name), logs[i].name) + "  " +
                             element("span", "class=\"when\"", escaped(logs[i].changed)));
    return items.empty()
               ? std::string{}
               : heading2("Verdicts of earlier runs") + element("ul", "class=\"plain\"", items);
}

} // namespace

Mechanic::Mechanic(Place place, std::optional<std::string> port, EventHub& events,
                   recorder::Clock& clock, Jobs& jobs)
    : place_(std::move(place)), port_(std::move(port)), clock_(clock), jobs_(jobs),
      virtual_(place_.folder), work_(events, clock) {
}

Mechanic::~Mechanic() = default;

std::optional<std::string> Mechanic::port() const {
    const std::lock_guard lock(mutex_);
    return port_;
}

Response Mechanic::bench_page(const std::string& trouble) {
    const auto chosen = port();
    const bool is_virtual = chosen == virtual_.port();
    std::string body = heading1("Bench") + trouble;
    body +=
        text_line(is_virtual ? fmt::format("The virtual bench is there: six invented units, one of "
                                           "them bad, {} times as fast as real.",
                                           virtual_pace)
                  : chosen   ? fmt::format("The bench is on {}.", *chosen)
                           : std::string("Where is the bench? Choose its port, or take the virtual "
                                         "one: six invented units, one of them bad."),
                  "lead");
    std::string machines;
    for (const std::string& name : machines_in(place_.folder))
        machines += element("li", "", button_link("/machine/" + encoded(name), "Run " + name));
    if (!machines.empty() && chosen)
        body += heading2("Machines") + element("ul", "class=\"plain\"", machines);
    body += unreadable_part(place_.folder);
    body +=
        element("div", "class=\"acts\"",
                button_link("/setup", "Set up a machine") +
                    (is_virtual ? std::string{} : act("/bench/virtual", "Take the virtual bench")));
    body += open_logs(place_.folder) + heading2(chosen ? "Another port" : "Port") +
            port_form(chosen) + recent_logs(place_.folder);
    return {.body = page({.title = "Bench", .here = "/bench", .body = body, .bar = work_.bar()})};
}

Response Mechanic::choose_port(const Request& request) {
    const auto wanted = request.form.filled("port");
    const auto found = link::list_ports();
    const bool known = wanted && found &&
                       std::any_of(found->begin(), found->end(),
                                   [&](const auto& port) { return port.path == *wanted; });
    if (!known)
        return bench_page(said_wrong(usage_error("port", "there is no such port any more",
                                                 "look again, and choose one of those")));
    const std::lock_guard lock(mutex_);
    port_ = wanted;
    return see("/bench");
}

Response Mechanic::begin_virtual_bench() {
    if (const Status begun = virtual_.begin(); !begun)
        return bench_page(said_wrong(begun.error()));
    const std::lock_guard lock(mutex_);
    port_ = virtual_.port();
    return see(std::string("/machine/") + virtual_machine);
}

// Of work that is on: none of them waits.
std::vector<Route> Mechanic::work_routes() {
    const auto here = [this](const Request& request) {
        std::uint64_t beat = 0;
        const std::string text = request.form.value("beat").value_or("");
        std::from_chars(text.data(), text.data() + text.size(), beat);
        work_.here(request.form.value("run").value_or(""), beat);
        return Response{.status = 204, .type = "text/plain", .body = ""};
    };
    const auto halt = [this](const Request&) {
        work_.halt();
        return see("/run");
    };
    const auto answer = [this](const Request& request) {
        work_.answer(request.form.value("answer") == "yes");
        return see("/run");
    };
    return {{Method::post, "/run/halt", halt, Haste::at_once},
            {Method::post, "/run/here", here, Haste::at_once},
            {Method::post, "/run/answer", answer, Haste::at_once}};
}

std::vector<Route> Mechanic::report_routes() {
    return {
        {Method::get, "/verdict/*",
         [this](const Request& request) {
             return verdict_page(place_, jobs_, request, work_.bar());
         }},
        {Method::get, "/sheet/*",
         [this](const Request& request) {
             return sheet_page(place_, jobs_, request, work_.bar());
         }},
        {Method::get, "/units", [this](const Request&) { return units_page(place_, work_.bar()); }},
        {Method::post, "/units",
         [this](const Request&) { return enter_folder(place_, jobs_, work_.bar()); }},
        {Method::post, "/book/anew",
         [this](const Request&) { return make_book_anew(place_, jobs_, work_.bar()); }},
        {Method::get, "/units/*/before-and-after",
         [this](const Request& request) {
             return unit_before_and_after(place_, jobs_, request, work_.bar());
         }},
        {Method::get, "/units/*",
         [this](const Request& request) { return unit_page(place_, request, work_.bar()); }},
        {Method::post, "/units/*",
         [this](const Request& request) { return note_on_unit(place_, request, work_.bar()); }},
    };
}

std::vector<Route> Mechanic::routes() {
    const auto usual = [this](Response (Mechanic::*page)(const Request&)) {
        return [this, page](const Request& request) { return (this->*page)(request); };
    };
    return {
        {Method::get, "/bench", [this](const Request&) { return bench_page(); }},
        {Method::post, "/bench", [](const Request&) { return see("/bench"); }},
        {Method::post, "/bench/port", usual(&Mechanic::choose_port)},
        {Method::post, "/bench/virtual", [this](const Request&) { return begin_virtual_bench(); }},
        {Method::get, "/machine/*",
         [this](const Request& request) { return machine_page(request); }},
        {Method::post, "/machine/*", usual(&Mechanic::prepare)},
        {Method::post, "/resume", usual(&Mechanic::prepare_resume)},
        {Method::post, "/run/start", usual(&Mechanic::start)},
        {Method::get, "/run", [this](const Request&) { return run_page(); }},
        {Method::get, "/setup", [this](const Request& request) { return setup_page(request); }},
        {Method::post, "/setup", usual(&Mechanic::set_up)},
        {Method::post, "/setup/try/*", usual(&Mechanic::try_machine)},
        {Method::post, "/setup/found", usual(&Mechanic::write_found)},
    };
}

} // namespace dropledger::station
