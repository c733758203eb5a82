#include "analysis/report/field/geojson.hpp"

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include <algorithm>
#include <cmath>

namespace dropledger::report::field {

namespace {

using namespace dropledger::field;
using Json = nlohmann::ordered_json;

double rounded(double degrees) {
    return std::round(degrees * 1e7) / 1e7;
}

Json position(const Place& at) {
    return Json::array({rounded(at.x), rounded(at.y)});
}

Json line_of(const std::vector<Place>& places) {
    Json coordinates = Json::array();
    for (const Place& at : places)
        coordinates.push_back(position(at));
    return coordinates;
}

// RFC 7946, 3.1.9: cut at the antimeridian.
Json cut_line(const Place& from, const Place& to) {
    const double east = from.x > 0.0 ? 180.0 : -180.0;
    const double span = 360.0 - std::abs(to.x - from.x);
    const double part = span > 0.0 ? (180.0 - std::abs(from.x)) / span : 0.0;
    const double lat = from.y + part * (to.y - from.y);
    return {{"type", "MultiLineString"},
            {"coordinates",
             Json::array({line_of({from, {east, lat}}), line_of({{-east, lat}, to})})}};
}

Json geometry(const Place& from, const Place& to) {
    if (position(from) == position(to))
        return {{"type", "Point"}, {"coordinates", position(from)}};
    if (std::abs(from.x - to.x) > 180.0)
        return cut_line(from, to);
    return {{"type", "LineString"}, {"coordinates", line_of({from, to})}};
}

Json pass_geometry(const std::vector<Place>& outline) {
    if (outline.size() < 3 || std::abs(outline.front().x - outline.back().x) > 180.0)
        return geometry(outline.front(), outline.back());
    return {{"type", "LineString"}, {"coordinates", line_of(outline)}};
}

Json feature(Json where, Json properties) {
    return {{"type", "Feature"}, {"geometry", std::move(where)}, {"properties", std::move(properties)}};
}

Json probability(const Chance& chance) {
    const auto p = stated(chance);
    return p ? Json(*p) : Json(nullptr);
}

} // namespace

Result<std::string> to_geojson(const FieldAudit& audit) {
    if (!audit.field.geographic)
        return Error{ErrorKind::usage, "option --geojson",
                     "the input gives places in a plane system, GeoJSON holds longitude and latitude only",
                     "give lat and lon, or name the UTM zone in the mapping file (utm_zone = \"33N\")"};
    Json features = Json::array();
    for (const LineReport& line : audit.lines)
        features.push_back(feature(pass_geometry(line.outline), {{"kind", "pass"},
                                                                     {"pass", line.key.pass},
                                                                     {"row", line.key.row},
                                                                     {"drops", line.drops},
                                                                     {"silent", line.silent}}));
    for (const Gap& gap : audit.gaps)
        features.push_back(feature(geometry(gap.from, gap.to), {{"kind", "gap"},
                                                                {"pass", gap.key.pass},
                                                                {"row", gap.key.row},
                                                                {"first_drop", gap.first_drop},
                                                                {"last_drop", gap.last_drop},
                                                                {"length_m", std::round(gap.length_m * 1e3) / 1e3},
                                                                {"judgement", name_of(judged(gap.missing))},
                                                                {"probability_missing", probability(gap.missing)},
                                                                {"reseed", audit.worth_reseeding(gap)}}));
    for (const Alert& alert : audit.alerts)
        features.push_back(feature(geometry(alert.at, alert.at),
                                   {{"kind", "alert"},
                                    {"pass", alert.key.pass},
                                    {"row", alert.key.row},
                                    {"drop", alert.drop},
                                    {"judgement", name_of(judged(alert.missing))},
                                    {"probability_missing", probability(alert.missing)}}));
    const Json json{{"type", "FeatureCollection"}, {"features", std::move(features)}};
    return json.dump(-1, ' ', false, Json::error_handler_t::replace) + "\n";
}

std::string walking_list(const FieldAudit& audit) {
    std::vector<const Gap*> gaps;
    for (const Gap& gap : audit.gaps)
        if (gap.length_m >= audit.options.reseed_min_m && judged(gap.missing) != Judgement::sensor)
            gaps.push_back(&gap);
    // Passes are driven to and fro, and drops count in the direction of driving: so walked they follow on each other.
    std::stable_sort(gaps.begin(), gaps.end(), [](const Gap* a, const Gap* b) {
        if (a->key.pass != b->key.pass)
            return a->key.pass < b->key.pass;
        return a->first_drop != b->first_drop ? a->first_drop < b->first_drop : a->key.row < b->key.row;
    });
    const bool geographic = audit.field.geographic;
    std::string text = fmt::format("stop,pass,row,first_drop,last_drop,from_{0},from_{1},to_{0},to_{1},length_m,seeds,judgement\n",
                                   geographic ? "lat" : "north_m", geographic ? "lon" : "east_m");
    std::size_t stop = 0;
    for (const Gap* const gap : gaps) {
        const int digits = geographic ? 7 : 3;
        text += fmt::format("{},{},{},{},{},{:.{}f},{:.{}f},{:.{}f},{:.{}f},{:.2f},{},{}\n", ++stop, gap->key.pass,
                            gap->key.row, gap->first_drop, gap->last_drop, gap->from.y, digits, gap->from.x, digits,
                            gap->to.y, digits, gap->to.x, digits, gap->length_m, gap->seeds,
                            name_of(judged(gap->missing)));
    }
    return text;
}

} // namespace dropledger::report::field
