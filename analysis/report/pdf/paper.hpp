// A4 pages in memory: text that flows from page to page, and lines.
//
// Assumes: DejaVu Sans is installed (fontconfig finds another where it is not). The same input
// gives the same bytes on one machine; another version of the fonts or of cairo may give others.
// Units: points (1/72 inch), from the upper left corner.
#pragma once

#include <memory>
#include <string>
#include <string_view>
#include <vector>

namespace dropledger::report::certificate {

enum class Type { title, heading, lead, body, bold, small, small_bold, mono, key };
enum class Align { left, right };

struct Sheet {
    std::string title;
    std::string author;
    std::string created; // RFC 3339 with Z
    std::string footer;  // at the left of every page's foot
    int pages = 0;       // for "page 1 of 2"; 0: not known yet
};

struct Spot {
    double x = 0.0;
    double y = 0.0;
};

struct TextBox {
    double x = 0.0;
    double width = 0.0;
    Type type = Type::body;
    Align align = Align::left;
    int most_lines = 0; // 0: as many as it takes; else cut with an ellipsis
};

struct Printed {
    std::string bytes;
    int pages = 0;
};

class Paper {
public:
    static constexpr double left = 48.0;
    static constexpr double right = 547.0;
    static constexpr double full = right - left;
    static constexpr double top = 44.0;
    static constexpr double bottom = 790.0;

    explicit Paper(const Sheet& sheet);
    ~Paper();
    Paper(const Paper&) = delete;
    Paper& operator=(const Paper&) = delete;

    [[nodiscard]] double y() const { return y_; }
    [[nodiscard]] int page() const { return page_; }
    void move_to(double y) { y_ = y; }
    void gap(double points) { y_ += points; }
    // A new page unless so much room is left; true where one was begun.
    bool keep_together(double height);

    // Line by line from y() on, over as many pages as it takes.
    void flow(std::string_view text, const TextBox& box);
    // With room before it, and on one page with so many points of what comes under it.
    void heading(std::string_view text, double together);
    // All in one place; neither moves y() nor turns the page.
    void put(std::string_view text, const TextBox& box, double y);
    [[nodiscard]] double height_of(std::string_view text, const TextBox& box);

    // The longest word of a text, as wide as it is drawn.
    [[nodiscard]] double widest_word(std::string_view text, Type type);

    // What is drawn until end() is, for a reader that reads aloud, an element of this kind (ISO
    // 32000-1, 14.8.4): "P", "H1", "Table", "TR", "TD", …; elements may hold others, and a page's end
    // parts them. flow() is a heading or a paragraph by itself.
    void begin(const char* element);
    void end(const char* element);

    void line(Spot from, Spot to, double width, bool dashed = false);
    void path(const std::vector<Spot>& points, double width);
    void ring(Spot centre, double radius);

    // Ends the document.
    [[nodiscard]] Printed finish();

private:
    struct Canvas;
    void begin_page();
    void end_page();
    void turn_page();

    Sheet sheet_;
    std::unique_ptr<Canvas> canvas_;
    std::vector<const char*> elements_; // that are open
    double y_ = top;
    int page_ = 0;
};

// The bytes of what `print` makes of a number of pages (0: not known yet): first to learn it, then to say it.
template <class Print> std::string with_page_numbers(const Print& print) {
    return print(print(0).pages).bytes;
}

} // namespace dropledger::report::certificate
