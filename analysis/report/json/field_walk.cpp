#include "analysis/report/json/field_walk.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace dropledger::report::field {

using namespace dropledger::field;

namespace {

std::string escaped(std::string_view text) {
    std::string out;
    for (const char c : text)
        switch (c) {
        case '&':
            out += "&amp;";
            break;
        case '<':
            out += "&lt;";
            break;
        case '>':
            out += "&gt;";
            break;
        case '"':
            out += "&quot;";
            break;
        default:
            out += c;
        }
    return out;
}

std::string about(const FieldAudit& audit, const Gap& gap) {
    return fmt::format("pass {}, row {}, drops {} to {}, {:.2f} m, {} seeds: {}",
                       audit.field.pass_name(gap.key.pass), audit.field.row_name(gap.key.row),
                       gap.first_drop, gap.last_drop, gap.length_m, gap.seeds,
                       name_of(judged(gap.missing)));
}

Error plane(const char* what) {
    return {ErrorKind::usage, what,
            "the input gives places in a plane system, such a file holds longitude and latitude "
            "only",
            "give lat and lon, or name the UTM zone in the mapping file (utm_zone = \"33N\")"};
}

// A separator or quote within a name would break the table.
std::string cell(const std::string& text, char separator) {
    if (text.find_first_of(std::string("\"\n\r") + separator) == std::string::npos)
        return text;
    std::string quoted = "\"";
    for (const char c : text)
        quoted += c == '"' ? std::string("\"\"") : std::string(1, c);
    return quoted + "\"";
}

std::string number(double value, int digits, char decimal) {
    std::string text = fmt::format("{:.{}f}", value, digits);
    std::replace(text.begin(), text.end(), '.', decimal);
    return text;
}

std::string waypoints(const FieldAudit& audit) {
    std::string text;
    for (std::size_t i = 0; i < audit.walk.stops.size(); ++i) {
        const Gap& gap = audit.gaps[audit.walk.stops[i]];
        const Place at = wrapped(gap.from, true);
        text += fmt::format("<wpt lat=\"{:.7f}\" lon=\"{:.7f}\"><name>{}</name><desc>{}</desc>"
                            "</wpt>\n",
                            at.y, at.x, escaped(stop_name(audit, i)), escaped(about(audit, gap)));
    }
    return text;
}

std::string route(const FieldAudit& audit) {
    std::string text = "<rte><name>walk to the gaps</name>\n";
    for (std::size_t i = 0; i < audit.walk.stops.size(); ++i) {
        const Place at = wrapped(audit.gaps[audit.walk.stops[i]].from, true);
        text += fmt::format("<rtept lat=\"{:.7f}\" lon=\"{:.7f}\"><name>{}</name></rtept>\n", at.y,
                            at.x, escaped(stop_name(audit, i)));
    }
    return text + "</rte>\n";
}

// A gap's own line, where it has a length.
std::string tracks(const FieldAudit& audit) {
    std::string text;
    for (std::size_t i = 0; i < audit.walk.stops.size(); ++i) {
        const Gap& gap = audit.gaps[audit.walk.stops[i]];
        const Place from = wrapped(gap.from, true);
        const Place to = wrapped(gap.to, true);
        text += fmt::format("<trk><name>{}</name><trkseg><trkpt lat=\"{:.7f}\" lon=\"{:.7f}\"/>"
                            "<trkpt lat=\"{:.7f}\" lon=\"{:.7f}\"/></trkseg></trk>\n",
                            escaped(stop_name(audit, i)), from.y, from.x, to.y, to.x);
    }
    return text;
}

std::string placemark(const FieldAudit& audit, std::size_t stop) {
    const Gap& gap = audit.gaps[audit.walk.stops[stop]];
    const Place from = wrapped(gap.from, true);
    const Place to = wrapped(gap.to, true);
    return fmt::format(
        "<Placemark><name>{0}</name><description>{1}</description>"
        "<MultiGeometry><Point><coordinates>{2:.7f},{3:.7f}</coordinates></Point>"
        "<LineString><tessellate>1</tessellate><coordinates>{2:.7f},{3:.7f} {4:.7f},{5:.7f}"
        "</coordinates></LineString></MultiGeometry></Placemark>\n",
        escaped(stop_name(audit, stop)), escaped(about(audit, gap)), from.x, from.y, to.x, to.y);
}

} // namespace

std::string stop_name(const FieldAudit& audit, std::size_t stop) {
    const Gap& gap = audit.gaps[audit.walk.stops.at(stop)];
    return fmt::format("{} \xC2\xB7 row {} \xC2\xB7 {:.1f} m", stop + 1,
                       audit.field.row_name(gap.key.row), gap.length_m);
}

std::string walking_list(const FieldAudit& audit, const TableForm& form) {
    const bool geographic = audit.field.geographic;
    const int digits = geographic ? 7 : 3;
    std::string text =
        fmt::format("stop,name,pass,row,first_drop,last_drop,from_{0},from_{1},to_{0},to_{1},"
                    "length_m,seeds,judgement,sown_at,found\n",
                    geographic ? "lat" : "north_m", geographic ? "lon" : "east_m");
    std::replace(text.begin(), text.end(), ',', form.separator);
    for (std::size_t i = 0; i < audit.walk.stops.size(); ++i) {
        const Gap& gap = audit.gaps[audit.walk.stops[i]];
        const Place from = wrapped(gap.from, geographic);
        const Place to = wrapped(gap.to, geographic);
        const auto at = [&](double value) { return number(value, digits, form.decimal); };
        const std::vector<std::string> cells{
            std::to_string(i + 1),
            cell(stop_name(audit, i), form.separator),
            cell(audit.field.pass_name(gap.key.pass), form.separator),
            cell(audit.field.row_name(gap.key.row), form.separator),
            std::to_string(gap.first_drop),
            std::to_string(gap.last_drop),
            at(from.y),
            at(from.x),
            at(to.y),
            at(to.x),
            number(gap.length_m, 2, form.decimal),
            std::to_string(gap.seeds),
            std::string(name_of(judged(gap.missing))),
            audit.field.date_and_time(gap.time_s),
            ""};
        text += fmt::format("{}\n", fmt::join(cells, std::string(1, form.separator)));
    }
    return text;
}

Result<std::string> to_gpx(const FieldAudit& audit) {
    if (!audit.field.geographic)
        return plane("gpx");
    return "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<gpx version=\"1.1\" "
           "creator=\"dropledger\" xmlns=\"http://www.topografix.com/GPX/1/1\">\n" +
           waypoints(audit) + (audit.walk.stops.empty() ? "" : route(audit)) + tracks(audit) +
           "</gpx>\n";
}

Result<std::string> to_kml(const FieldAudit& audit) {
    if (!audit.field.geographic)
        return plane("kml");
    std::string text = "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<kml "
                       "xmlns=\"http://www.opengis.net/kml/2.2\"><Document><name>walk to the "
                       "gaps</name>\n";
    for (std::size_t i = 0; i < audit.walk.stops.size(); ++i)
        text += placemark(audit, i);
    return text + "</Document></kml>\n";
}

} // namespace dropledger::report::field
