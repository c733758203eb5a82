#include "analysis/report/json/geojson.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace dropledger::report::field {

namespace {

using namespace dropledger::field;

// At most 7 decimals, without trailing zeros. Written by hand: the JSON library prints the shortest
// digits nearly always only.
std::string degrees(double value) {
    std::string text = fmt::format("{:.7f}", value);
    text.erase(text.find_last_not_of('0') + 1);
    if (text.back() == '.')
        text.pop_back();
    return text == "-0" ? "0" : text;
}

// Where fields lie on both sides of the date line longitudes run on beyond 180 within the audit.
std::string position(const Place& place) {
    const Place at = wrapped(place, true);
    return fmt::format("[{},{}]", degrees(at.x), degrees(at.y));
}

std::string line_of(const std::vector<Place>& places) {
    std::string text;
    for (const Place& at : places)
        text += (text.empty() ? "[" : ",") + position(at);
    return text + "]";
}

std::string shape(std::string_view type, const std::string& coordinates) {
    return fmt::format(R"({{"type":"{}","coordinates":{}}})", type, coordinates);
}

// RFC 7946, 3.1.9: cut at the antimeridian.
std::string cut_line(const Place& from, const Place& to) {
    const double east = from.x > 0.0 ? 180.0 : -180.0;
    const double span = 360.0 - std::abs(to.x - from.x);
    const double part = span > 0.0 ? (180.0 - std::abs(from.x)) / span : 0.0;
    const double lat = from.y + part * (to.y - from.y);
    return shape("MultiLineString",
                 fmt::format("[{},{}]", line_of({from, {east, lat}}), line_of({{-east, lat}, to})));
}

std::string geometry(const Place& from, const Place& to) {
    if (position(from) == position(to))
        return shape("Point", position(from));
    if (const Place a = wrapped(from, true), b = wrapped(to, true); std::abs(a.x - b.x) > 180.0)
        return cut_line(a, b);
    return shape("LineString", line_of({from, to}));
}

std::string pass_geometry(const std::vector<Place>& outline) {
    const double across = wrapped(outline.front(), true).x - wrapped(outline.back(), true).x;
    if (outline.size() < 3 || std::abs(across) > 180.0)
        return geometry(outline.front(), outline.back());
    return shape("LineString", line_of(outline));
}

std::string feature(const std::string& where, const std::string& properties) {
    return fmt::format(R"({{"type":"Feature","geometry":{},"properties":{{{}}}}})", where,
                       properties);
}

std::string judgement(const Chance& chance) {
    const auto p = stated(chance);
    return fmt::format(R"("judgement":"{}","probability_missing":{})", name_of(judged(chance)),
                       p ? fmt::format("{:.4f}", *p) : std::string("null"));
}

std::string of_line(const LineReport& line) {
    return feature(pass_geometry(line.outline),
                   fmt::format(R"("kind":"pass","pass":{},"row":{},"drops":{},"silent":{})",
                               line.key.pass, line.key.row, line.drops, line.silent));
}

std::string of_gap(const FieldAudit& audit, const Gap& gap, std::size_t stop) {
    return feature(
        geometry(gap.from, gap.to),
        fmt::format(
            R"("kind":"gap","pass":{},"row":{},"first_drop":{},"last_drop":{},"length_m":{:.3f},{},"reseed":{},"stop":{})",
            gap.key.pass, gap.key.row, gap.first_drop, gap.last_drop, gap.length_m,
            judgement(gap.missing), audit.worth_reseeding(gap),
            stop == 0 ? std::string("null") : std::to_string(stop)));
}

std::string of_alert(const Alert& alert) {
    return feature(shape("Point", position(alert.at)),
                   fmt::format(R"("kind":"alert","pass":{},"row":{},"drop":{},{})", alert.key.pass,
                               alert.key.row, alert.drop, judgement(alert.missing)));
}

} // namespace

Result<std::string> to_geojson(const FieldAudit& audit) {
    if (!audit.field.geographic)
        return usage_error(
            "geojson",
            "the input gives places in a plane system, GeoJSON holds longitude and latitude only",
            "give lat and lon, or name the UTM zone in the mapping file (utm_zone = \"33N\")");
    std::string features;
    const auto add = [&](const std::string& one) {
        features.append(features.empty() ? "\n" : ",\n").append(one);
    };
    for (const LineReport& line : audit.lines)
        add(of_line(line));
    std::vector<std::size_t> stop(audit.gaps.size(), 0);
    for (std::size_t i = 0; i < audit.walk.stops.size(); ++i)
        stop[audit.walk.stops[i]] = i + 1;
    for (std::size_t i = 0; i < audit.gaps.size(); ++i)
        add(of_gap(audit, audit.gaps[i], stop[i]));
    for (const Alert& alert : audit.alerts)
        add(of_alert(alert));
    return fmt::format(R"({{"type":"FeatureCollection","features":[{}]}})", features) + "\n";
}

} // namespace dropledger::report::field
