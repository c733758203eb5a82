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

std::string position(const Place& at) {
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
    if (std::abs(from.x - to.x) > 180.0)
        return cut_line(from, to);
    return shape("LineString", line_of({from, to}));
}

std::string pass_geometry(const std::vector<Place>& outline) {
    if (outline.size() < 3 || std::abs(outline.front().x - outline.back().x) > 180.0)
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

std::string of_gap(const FieldAudit& audit, const Gap& gap) {
    return feature(
        geometry(gap.from, gap.to),
        fmt::format(
            R"("kind":"gap","pass":{},"row":{},"first_drop":{},"last_drop":{},"length_m":{:.3f},{},"reseed":{})",
            gap.key.pass, gap.key.row, gap.first_drop, gap.last_drop, gap.length_m,
            judgement(gap.missing), audit.worth_reseeding(gap)));
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
    for (const Gap& gap : audit.gaps)
        add(of_gap(audit, gap));
    for (const Alert& alert : audit.alerts)
        add(of_alert(alert));
    return fmt::format(R"({{"type":"FeatureCollection","features":[{}]}})", features) + "\n";
}

std::string walking_list(const FieldAudit& audit) {
    std::vector<const Gap*> gaps;
    for (const Gap& gap : audit.gaps)
        if (gap.length_m >= audit.options.reseed_min_m && judged(gap.missing) != Judgement::sensor)
            gaps.push_back(&gap);
    // Passes are driven to and fro, and drops count in the direction of driving: so walked they
    // follow on each other.
    std::stable_sort(gaps.begin(), gaps.end(), [](const Gap* a, const Gap* b) {
        if (a->key.pass != b->key.pass)
            return a->key.pass < b->key.pass;
        return a->first_drop != b->first_drop ? a->first_drop < b->first_drop
                                              : a->key.row < b->key.row;
    });
    const bool geographic = audit.field.geographic;
    std::string text = fmt::format("stop,pass,row,first_drop,last_drop,from_{0},from_{1},to_{0},to_"
                                   "{1},length_m,seeds,judgement\n",
                                   geographic ? "lat" : "north_m", geographic ? "lon" : "east_m");
    std::size_t stop = 0;
    for (const Gap* const gap : gaps) {
        const int digits = geographic ? 7 : 3;
        text += fmt::format("{},{},{},{},{},{:.{}f},{:.{}f},{:.{}f},{:.{}f},{:.2f},{},{}\n", ++stop,
                            gap->key.pass, gap->key.row, gap->first_drop, gap->last_drop,
                            gap->from.y, digits, gap->from.x, digits, gap->to.y, digits, gap->to.x,
                            digits, gap->length_m, gap->seeds, name_of(judged(gap->missing)));
    }
    return text;
}

} // namespace dropledger::report::field
