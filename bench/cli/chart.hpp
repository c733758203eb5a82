// A line chart as SVG: lines told apart by stroke and name, not by colour alone.
//
// Assumes: finite points; at least one line with two points.
// Units: of the caller; an axis may show shares in percent.
#pragma once

#include <string>
#include <vector>

namespace dropledger::cli {

struct ChartPoint {
    double x = 0.0;
    double y = 0.0;
};

enum class Stroke { solid, dashed, dotted };

struct ChartLine {
    std::string name;
    Stroke stroke = Stroke::solid;
    std::vector<ChartPoint> points;
};

struct Axis {
    std::string name;
    bool percent = false; // values are shares
};

struct Chart {
    std::string title;
    std::string description; // what one should see, in words
    Axis x;
    Axis y;
    std::vector<ChartLine> lines;  // at most three
    std::vector<ChartPoint> marks; // drawn as rings
    std::string marks_name;        // what they are
};

[[nodiscard]] std::string svg(const Chart& chart);

// & < > " as entities.
[[nodiscard]] std::string escaped(const std::string& text);

} // namespace dropledger::cli
