#include "bench/station/station.hpp"

#include "analysis/report/pictures/markup.hpp"
#include "bench/station/pages/page.hpp"
#include "bench/station/server/server.hpp"

#include <chrono>
#include <thread>

namespace dropledger::station {

using report::pictures::element;

namespace {

std::string door(const char* where, const char* title, const char* text, const char* act) {
    return element("li", "",
                   element("h2", "", title) + element("p", "", text) +
                       element("a", std::string("class=\"button\" href=\"") + where + "\"", act));
}

std::string first_page() {
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
                          "To the field"))});
}

std::vector<Route> routes() {
    return {{Method::get, "/", [](const Request&) { return Response{.body = first_page()}; }},
            {Method::get, "/style/*", part_file},
            {Method::get, "/script/*", part_file},
            {Method::get, "/events", {}, Haste::events}};
}

} // namespace

Status serve(const StationOptions& options, const StationHooks& hooks) {
    EventHub events;
    auto server = Server::open(options.listen, events);
    if (!server)
        return server.error();
    std::thread lines([&] { (*server)->run({routes(), refusal_page}); });
    hooks.ready((*server)->first_address());
    while (hooks.interrupts() == 0)
        std::this_thread::sleep_for(std::chrono::milliseconds{100});
    (*server)->stop();
    lines.join();
    return Done{};
}

} // namespace dropledger::station
