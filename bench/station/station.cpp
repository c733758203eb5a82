#include "bench/station/station.hpp"

#include "analysis/report/pictures/markup.hpp"
#include "bench/recorder/protocol/plan/clock.hpp"
#include "bench/station/batches/batches.hpp"
#include "bench/station/batches/calibrations.hpp"
#include "bench/station/farmer/farmer.hpp"
#include "bench/station/mechanic/mechanic.hpp"
#include "bench/station/pages/jobs.hpp"
#include "bench/station/pages/page.hpp"
#include "bench/station/server/server.hpp"

#include <chrono>
#include <filesystem>
#include <thread>

namespace dropledger::station {

using report::pictures::element;

namespace {

std::string door(const char* where, const char* title, const char* text, const char* act) {
    return element("li", "",
                   element("h2", "", title) + element("p", "", text) +
                       element("a", std::string("class=\"button\" href=\"") + where + "\"", act));
}

std::string first_page(const std::string& folder, const std::string& bar) {
    return page(
        {.title = "Station",
         .body =
             element("h1", "", "What is to be done?") + "\n" +
             element(
                 "ul", "class=\"doors\"",
                 door(
                     "/bench", "Try units on the bench",
                     "Set up a machine, run it, see which unit is within its limits and what to do "
                     "with the others.",
                     "To the bench") +
                     door("/batches", "Certify a batch",
                          "Which units to test next, what is missing, the decision, the "
                          "certificate.",
                          "To the batches") +
                     door("/field", "After a night in the field",
                          "Drop the machine's table here and see which gaps to re-seed, and where "
                          "to "
                          "dig first.",
                          "To the field")) +
             "\n" +
             element("p", "class=\"cap\"",
                     report::pictures::escaped(
                         "Logs, settings and tables lie in " +
                         std::filesystem::absolute(folder).lexically_normal().string())),
         .bar = bar});
}

std::vector<Route> own_routes(const std::string& folder, Jobs& jobs, const BenchWork& work) {
    return {
        {Method::get, "/",
         [&, folder](const Request&) { return Response{.body = first_page(folder, work.bar())}; }},
        {Method::get, "/style/*", part_file, Haste::at_once},
        {Method::get, "/script/*", part_file, Haste::at_once},
        {Method::get, "/jobs/*",
         [&](const Request& request) { return jobs.page(request.parts.front(), work.bar()); }},
        {Method::post, "/jobs/*/cancel",
         [&](const Request& request) { return jobs.cancel(request.parts.front()); }},
        {Method::get, "/events", {}, Haste::events}};
}

void add(std::vector<Route>& routes, std::vector<Route> more) {
    routes.insert(routes.end(), std::make_move_iterator(more.begin()),
                  std::make_move_iterator(more.end()));
}

} // namespace

Status serve(const StationOptions& options, const StationHooks& hooks) {
    EventHub events;
    auto server = Server::open(options.listen, events);
    if (!server)
        return server.error();
    recorder::SystemClock clock;
    Jobs jobs;
    const Place place{options.folder, options.book.value_or(options.folder + "/bench.book"),
                      options.book.has_value()};
    Mechanic mechanic(place, options.port, events, clock, jobs);
    std::vector<Route> routes = own_routes(place.folder, jobs, mechanic.work());
    add(routes, mechanic.routes());
    add(routes, mechanic.work_routes());
    add(routes, mechanic.report_routes());
    Farmer farmer(options.folder, jobs, [&mechanic] { return mechanic.work().bar(); });
    add(routes, farmer.routes());
    Batches batches(place, jobs, [&mechanic] { return mechanic.work().bar(); });
    add(routes, batches.routes());
    Calibrations calibrations(place, jobs, [&mechanic] { return mechanic.work().bar(); });
    add(routes, calibrations.routes());
    std::thread lines([&] { (*server)->run({std::move(routes), refusal_page}); });
    hooks.ready((*server)->first_address());
    while (hooks.interrupts() == 0)
        std::this_thread::sleep_for(std::chrono::milliseconds{100});
    mechanic.work().end_and_wait(); // pages are told meanwhile
    (*server)->stop();
    lines.join();
    jobs.end();
    return Done{};
}

} // namespace dropledger::station
