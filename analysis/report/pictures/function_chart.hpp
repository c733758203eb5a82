// Up to three curves over one axis, told apart by stroke and name, not by colour alone.
//
// Assumes: finite points, none below 0; at least one curve with two points.
// Units: of the caller; an axis of shares is shown in per cent.
#pragma once

#include "analysis/report/pictures/plot.hpp"

#include <string>
#include <vector>

namespace dropledger::report::pictures {

enum class Stroke { solid, dashed, dotted };

struct Curve {
    std::string name;
    Stroke stroke = Stroke::solid;
    std::vector<Point> points;
};

struct Axis {
    std::string name;
    bool percent = false; // values are shares
};

struct FunctionChart {
    std::string title;
    std::string description; // what one should see, in words
    Axis x;
    Axis y;
    std::vector<Curve> curves;
    std::vector<Point> marks; // drawn as rings
    std::string marks_name;   // what they are
};

// A heading, the picture, its key and the description.
[[nodiscard]] std::string function_chart(const FunctionChart& chart);

} // namespace dropledger::report::pictures
