#include "bench/station/pages/page.hpp"

#include "analysis/base/text.hpp"
#include "analysis/report/html/parts.hpp"
#include "analysis/report/pictures/markup.hpp"
#include "station_parts.hpp"

#include <fmt/format.h>

#include <array>

namespace dropledger::station {

using report::pictures::element;
using report::pictures::escaped;

namespace {

struct Door {
    std::string_view path;
    const char* name;
};
constexpr std::array<Door, 4> doors{
    {{"/bench", "Bench"}, {"/units", "Units"}, {"/batches", "Batches"}, {"/field", "Field"}}};

std::string navigation(std::string_view here) {
    std::string links = element("b", "", element("a", "href=\"/\"", "Dropledger"));
    for (const Door& door : doors)
        links += element("a",
                         fmt::format("href=\"{}\"{}", door.path,
                                     door.path == here ? " aria-current=\"page\"" : ""),
                         door.name);
    return element("nav", "class=\"top\" aria-label=\"Station\"", links) + "\n";
}

std::string head(const Frame& frame) {
    std::string text = "<meta charset=\"utf-8\" />\n<meta name=\"viewport\" "
                       "content=\"width=device-width, initial-scale=1\" />\n";
    if (frame.reloads)
        text += "<meta http-equiv=\"refresh\" content=\"1\" />\n";
    text += element("title", "", escaped(frame.title + " · Dropledger")) + "\n";
    for (const char* const style : {"report.css", "style.css"})
        text += fmt::format("<link rel=\"stylesheet\" href=\"/style/{}\" />\n", style);
    text += "<script src=\"/script/page.js\" defer=\"defer\"></script>\n";
    for (const std::string_view script : frame.scripts)
        text += fmt::format("<script src=\"/script/{}\" defer=\"defer\"></script>\n", script);
    return text;
}

// Style attributes are not let in by the page's policy; the script sets them.
std::string with_styles_as_data(std::string markup) {
    return replaced(std::move(markup), " style=\"", " data-style=\"");
}

constexpr const char* lost =
    "<div id=\"lost\" role=\"alert\" hidden=\"hidden\"><b>The station does not answer.</b> Without "
    "it the "
    "bench halts by itself within 3 s. Make sure that the motors stand still; else press the "
    "emergency stop.</div>\n";

} // namespace

std::string page(const Frame& frame) {
    std::string body =
        "<a class=\"skip\" href=\"#main\">To the content</a>\n" + navigation(frame.here);
    if (frame.as_report)
        body += with_styles_as_data(std::string(report::html::part("symbols")));
    body += element("main", "id=\"main\"",
                    "\n" + (frame.as_report ? with_styles_as_data(frame.body) : frame.body)) +
            "\n" + lost +
            element("section", "id=\"bar\" aria-label=\"The run that is on\"", frame.bar) + "\n";
    return "<!DOCTYPE html>\n<html lang=\"en\">\n" + element("head", "", "\n" + head(frame)) +
           "\n" + element("body", "", "\n" + body) + "\n</html>\n";
}

std::string refusal_page(unsigned status, const std::string& why) {
    return page(
        {.title = fmt::format("{}", status),
         .body = element("h1", "", "Not here") + element("p", "class=\"lead\"", escaped(why)) +
                 element("p", "", element("a", "href=\"/\"", "To the station's first page"))});
}

Response part_file(const Request& request) {
    const std::string& name = request.parts.front();
    const std::string stem = name.substr(0, name.rfind('.'));
    const std::string script = "text/javascript; charset=utf-8";
    const std::string style = "text/css; charset=utf-8";
    if (name == "report.css")
        return {.type = style,
                .body = fmt::format("{}\n{}", report::html::part("page_style"),
                                    report::html::part("field_style"))};
    if (name == "field_script.js" || name == "go_to_drop.js")
        return {.type = script, .body = std::string(report::html::part(stem))};
    for (const station_parts::Text& part : station_parts::texts())
        if (part.name == stem && name == (stem == "style" ? "style.css" : stem + ".js"))
            return {.type = stem == "style" ? style : script, .body = std::string(part.content)};
    return {.status = 404, .body = refusal_page(404, "There is no such file.")};
}

} // namespace dropledger::station
