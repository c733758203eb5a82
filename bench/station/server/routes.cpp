#include "bench/station/server/routes.hpp"

#include "analysis/base/text.hpp"

namespace dropledger::station {

namespace {

std::optional<std::vector<std::string>> stars_of(std::string_view pattern, std::string_view path) {
    const auto wanted = split(pattern, '/');
    const auto asked = split(path, '/');
    if (wanted.size() != asked.size())
        return std::nullopt;
    std::vector<std::string> stars;
    for (std::size_t i = 0; i < wanted.size(); ++i) {
        if (wanted[i] != "*" && wanted[i] != asked[i])
            return std::nullopt;
        if (wanted[i] != "*")
            continue;
        auto part = decoded(asked[i], false);
        if (!part || part->empty())
            return std::nullopt;
        stars.push_back(*std::move(part));
    }
    return stars;
}

} // namespace

Match Routes::match(std::string_view method, std::string_view path) const {
    Match match;
    for (const Route& route : table_) {
        auto stars = stars_of(route.path, path);
        if (!stars)
            continue;
        if (name_of(route.method) == method)
            return {.route = &route, .parts = *std::move(stars), .allowed = {}};
        match.allowed += (match.allowed.empty() ? "" : ", ") + std::string(name_of(route.method));
    }
    return match;
}

} // namespace dropledger::station
