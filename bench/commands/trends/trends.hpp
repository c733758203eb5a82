// Control charts as `batch trend` and `book trend` put them out alike: as JSON and as a page.
#pragma once

#include "analysis/report/pictures/control_chart.hpp"
#include "analysis/statistics/trends/control_chart.hpp"

#include <nlohmann/json.hpp>

#include <optional>
#include <string>
#include <vector>

namespace dropledger::cli {

struct ChartedTrend {
    std::string key; // of the quantity
    std::optional<statistics::ControlChart> chart;
    std::string point;            // what one is: batch, run
    std::vector<std::string> ids; // of the points, in their order
    std::vector<std::string> left_out;
};

[[nodiscard]] nlohmann::ordered_json trend_json(const ChartedTrend& trend,
                                                nlohmann::ordered_json points);

struct TrendPart {
    std::string heading;
    std::string answer{}; // in words, first; may be empty
    std::optional<statistics::ControlChart> chart;
    report::pictures::ControlWords words;
    std::string no_chart; // said where there is none
    std::string caution;  // may be empty
    std::vector<std::string> left_out;
};

struct TrendPage {
    std::string title;
    std::string kind;
    std::string heading;
    std::string question;
    std::vector<TrendPart> parts;
};

// What stands inside the page.
[[nodiscard]] std::string trend_body(const TrendPage& page);
[[nodiscard]] std::string trend_page(const TrendPage& page);

} // namespace dropledger::cli
