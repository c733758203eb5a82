// The frame of every page of the station: navigation, the bar of a run that is on, styles and
// scripts as files of our own.
//
// Assumes: `body` and `bar` are markup. The page is well-formed XML as well, but for its scripts
// none is inside.
#pragma once

#include "bench/station/server/request.hpp"

#include <string>
#include <string_view>
#include <vector>

namespace dropledger::station {

struct Frame {
    std::string title;          // plain text
    std::string_view here = {}; // the path of the navigation's entry that this page belongs to
    std::string body;
    std::string bar = {};                       // empty: no run is on
    std::vector<std::string_view> scripts = {}; // beside the one of every page: "drop.js"
    bool reloads = false;                       // every second, until it is another page
    bool as_report = false;                     // has a report's pictures
};

[[nodiscard]] std::string page(const Frame& frame);

// Of the station itself, where a page cannot be shown.
[[nodiscard]] std::string refusal_page(unsigned status, const std::string& why);

// A style or script by its name; 404 where there is none.
[[nodiscard]] Response part_file(const Request& request);

} // namespace dropledger::station
