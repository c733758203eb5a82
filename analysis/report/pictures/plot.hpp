// A plot area whose marks stretch with the page while its text keeps its size: legible at 320 px
// and on paper.
//
// Units: the axes' own; places inside are per cent of the plot area, sizes of text and strokes CSS
// px.
// Assumes: the page carries the style sheet and the shared patterns of analysis/report/html.
#pragma once

#include <string>
#include <string_view>
#include <vector>

namespace dropledger::report::pictures {

// Maps `low` … `high` to 0 … 100 %.
struct Scale {
    double low = 0.0;
    double high = 1.0;

    [[nodiscard]] double percent(double value) const;
    [[nodiscard]] double inside(double value) const; // clamped to the scale
};

// Round numbers inside the scale, at most `most` of them, with the digits that their step needs.
struct Tick {
    double value = 0.0;
    std::string label;
};
[[nodiscard]] std::vector<Tick> ticks(const Scale& scale, int most);

// A number of per cent in a tag: short, no exponent.
[[nodiscard]] std::string coordinate(double value);

struct Box {
    double left = 0.0; // data coordinates
    double right = 0.0;
    double bottom = 0.0;
    double top = 0.0;
};

struct Segment {
    double x1 = 0.0;
    double y1 = 0.0;
    double x2 = 0.0;
    double y2 = 0.0;
};

// A label in px off its place; anchor is start, middle or end.
struct Label {
    double x = 0.0;
    double y = 0.0;
    int dx_px = 0;
    int dy_px = 0;
    std::string_view anchor = "middle";
};

struct Point {
    double x = 0.0;
    double y = 0.0;
};

class Plot {
public:
    Plot(Scale x, Scale y, int height_px) : x_(x), y_(y), height_px_(height_px) {}

    // `style` is a class of the style sheet; `title`, where given, is what the mark says when
    // pointed at.
    void box(const Box& box, std::string_view style, std::string_view title = {});
    void segment(const Segment& segment, std::string_view style);
    void label(const Label& label, std::string_view text, std::string_view style = "lab");
    void line(const std::vector<Point>& points, std::string_view style);
    void dots(const std::vector<Point>& points, std::string_view style);
    // A shared symbol (an id of the page) centred on a point; `title` as with a box.
    void symbol(Point at, std::string_view id, std::string_view style, std::string_view title = {});
    void x_axis(std::string_view title, int most_ticks = 6);
    void y_axis(std::string_view title, int most_ticks = 4);
    void x_tick(double value, std::string_view label);

    // `label` says in words what is to be seen.
    [[nodiscard]] std::string markup(std::string_view label, std::string_view style = "plot") const;

    [[nodiscard]] const Scale& x() const { return x_; }
    [[nodiscard]] const Scale& y() const { return y_; }

private:
    [[nodiscard]] std::string px(double x) const { return coordinate(x_.percent(x)); }
    [[nodiscard]] std::string py(double y) const { return coordinate(100.0 - y_.percent(y)); }

    Scale x_;
    Scale y_;
    int height_px_;
    std::string body_;
};

} // namespace dropledger::report::pictures
