#include "analysis/report/pdf/paper.hpp"

#include "analysis/base/result.hpp"
#include "analysis/base/shown_text.hpp"
#include "analysis/report/pdf/drawing.hpp"

#include <fmt/format.h>

#include <algorithm>

namespace dropledger::report::certificate {

namespace {

constexpr double page_width = 595.0;
constexpr double page_height = 842.0;

template <auto function> struct Freed {
    template <class T> void operator()(T* object) const { (drawing().*function)(object); }
};
using Surface = std::unique_ptr<cairo_surface_t, Freed<&Drawing::cairo_surface_destroy>>;
using Pen = std::unique_ptr<cairo_t, Freed<&Drawing::cairo_destroy>>;
using Layout = std::unique_ptr<PangoLayout, Freed<&Drawing::g_object_unref>>;
using Font = std::unique_ptr<PangoFontDescription, Freed<&Drawing::pango_font_description_free>>;
using Lines = std::unique_ptr<PangoLayoutIter, Freed<&Drawing::pango_layout_iter_free>>;
using Options = std::unique_ptr<cairo_font_options_t, Freed<&Drawing::cairo_font_options_destroy>>;
using Attributes = std::unique_ptr<PangoAttrList, Freed<&Drawing::pango_attr_list_unref>>;

struct Face {
    const char* family;
    double size;
    bool bold;
};

Face face_of(Type type) {
    switch (type) {
    case Type::title:
        return {"DejaVu Sans", 19.0, true};
    case Type::heading:
        return {"DejaVu Sans", 10.5, true};
    case Type::lead:
        return {"DejaVu Sans", 10.5, false};
    case Type::body:
        return {"DejaVu Sans", 8.6, false};
    case Type::bold:
        return {"DejaVu Sans", 8.6, true};
    case Type::small:
        return {"DejaVu Sans", 7.2, false};
    case Type::small_bold:
        return {"DejaVu Sans", 7.2, true};
    case Type::mono:
        return {"DejaVu Sans Mono", 6.8, false};
    case Type::key:
        return {"DejaVu Sans Mono", 8.6, false};
    }
    return {"DejaVu Sans", 8.6, false};
}

const char* element_of(Type type) {
    return type == Type::title ? "H1" : type == Type::heading ? "H2" : "P";
}

// A number and its per cent sign stay on one line.
std::string bound(std::string_view text) {
    std::string out;
    for (std::size_t i = 0; i < text.size(); ++i)
        if (text[i] == ' ' && text.substr(i + 1, 1) == "%")
            out += "\xC2\xA0";
        else
            out += text[i];
    return out;
}

cairo_status_t append(void* target, const unsigned char* bytes, unsigned int length) {
    static_cast<std::string*>(target)->append(reinterpret_cast<const char*>(bytes), length);
    return CAIRO_STATUS_SUCCESS;
}

double points(int pango_units) {
    return static_cast<double>(pango_units) / PANGO_SCALE;
}

// One line of valid text: it stands in the file itself.
std::string plain(const std::string& text) {
    return shown_text(text);
}

void set_metadata(cairo_surface_t* surface, const Sheet& sheet) {
    drawing().cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_TITLE,
                                             plain(sheet.title).c_str());
    drawing().cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_AUTHOR,
                                             plain(sheet.author).c_str());
    drawing().cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_CREATE_DATE,
                                             sheet.created.c_str());
    drawing().cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_MOD_DATE,
                                             sheet.created.c_str());
}

} // namespace

struct Paper::Canvas {
    std::string bytes;
    Surface surface;
    Pen pen;

    // Metrics without hints: the same breaks whatever the screen of the machine.
    [[nodiscard]] Layout blank(Type type) const {
        Layout made(drawing().pango_cairo_create_layout(pen.get()));
        const Options options(drawing().cairo_font_options_create());
        drawing().cairo_font_options_set_hint_style(options.get(), CAIRO_HINT_STYLE_NONE);
        drawing().cairo_font_options_set_hint_metrics(options.get(), CAIRO_HINT_METRICS_OFF);
        drawing().pango_cairo_context_set_font_options(
            drawing().pango_layout_get_context(made.get()), options.get());
        const Face face = face_of(type);
        const Font font(drawing().pango_font_description_new());
        drawing().pango_font_description_set_family(font.get(), face.family);
        drawing().pango_font_description_set_absolute_size(font.get(), face.size * PANGO_SCALE);
        drawing().pango_font_description_set_weight(font.get(), face.bold ? PANGO_WEIGHT_BOLD
                                                                          : PANGO_WEIGHT_NORMAL);
        drawing().pango_layout_set_font_description(made.get(), font.get());
        return made;
    }

    [[nodiscard]] Layout layout(std::string_view text, const TextBox& box) const {
        Layout made = blank(box.type);
        const std::string whole = shown_text(bound(text), Breaks::kept);
        drawing().pango_layout_set_text(made.get(), whole.data(), static_cast<int>(whole.size()));
        // A name that breaks at a line's end gets no hyphen that is not its own.
        const Attributes attributes(drawing().pango_attr_list_new());
        drawing().pango_attr_list_insert(attributes.get(),
                                         drawing().pango_attr_insert_hyphens_new(0));
        drawing().pango_layout_set_attributes(made.get(), attributes.get());
        drawing().pango_layout_set_width(made.get(), static_cast<int>(box.width * PANGO_SCALE));
        drawing().pango_layout_set_wrap(made.get(), PANGO_WRAP_WORD_CHAR);
        drawing().pango_layout_set_alignment(
            made.get(), box.align == Align::right ? PANGO_ALIGN_RIGHT : PANGO_ALIGN_LEFT);
        if (box.most_lines > 0) {
            drawing().pango_layout_set_height(made.get(), -box.most_lines);
            drawing().pango_layout_set_ellipsize(made.get(), PANGO_ELLIPSIZE_END);
        }
        return made;
    }
};

Paper::Paper(const Sheet& sheet) : sheet_(sheet), canvas_(std::make_unique<Canvas>()) {
    canvas_->surface.reset(drawing().cairo_pdf_surface_create_for_stream(append, &canvas_->bytes,
                                                                         page_width, page_height));
    set_metadata(canvas_->surface.get(), sheet_);
    canvas_->pen.reset(drawing().cairo_create(canvas_->surface.get()));
    begin_page();
}

Paper::~Paper() = default;

void Paper::begin_page() {
    ++page_;
    y_ = top;
}

// Open elements are parted, so that the foot is of none.
void Paper::turn_page() {
    for (auto open = elements_.rbegin(); open != elements_.rend(); ++open)
        drawing().cairo_tag_end(canvas_->pen.get(), *open);
    end_page();
    begin_page();
    for (const char* open : elements_)
        drawing().cairo_tag_begin(canvas_->pen.get(), open, nullptr);
}

void Paper::end_page() {
    const double foot = bottom + 14.0;
    line({left, foot - 4.0}, {right, foot - 4.0}, 0.4);
    put(sheet_.footer, {.x = left, .width = 430.0, .type = Type::small, .most_lines = 1}, foot);
    put(fmt::format("page {} of {}", page_, sheet_.pages),
        {.x = right - 66.0, .width = 66.0, .type = Type::small, .align = Align::right}, foot);
    drawing().cairo_show_page(canvas_->pen.get());
}

bool Paper::keep_together(double height) {
    if (y_ + height <= bottom)
        return false;
    turn_page();
    return true;
}

void Paper::flow(std::string_view text, const TextBox& box) {
    const Layout layout = canvas_->layout(text, box);
    const char* const element = element_of(box.type);
    begin(element);
    const Lines lines(drawing().pango_layout_get_iter(layout.get()));
    do {
        PangoRectangle logical;
        drawing().pango_layout_iter_get_line_extents(lines.get(), nullptr, &logical);
        const double height = points(logical.height);
        keep_together(height);
        const double baseline =
            points(drawing().pango_layout_iter_get_baseline(lines.get()) - logical.y);
        drawing().cairo_move_to(canvas_->pen.get(), box.x + points(logical.x), y_ + baseline);
        drawing().pango_cairo_show_layout_line(
            canvas_->pen.get(), drawing().pango_layout_iter_get_line_readonly(lines.get()));
        y_ += height;
    } while (drawing().pango_layout_iter_next_line(lines.get()) != 0);
    end(element);
}

void Paper::heading(std::string_view text, double together) {
    gap(9.0);
    keep_together(together);
    flow(text, {.x = left, .width = full, .type = Type::heading});
    gap(2.0);
}

void Paper::put(std::string_view text, const TextBox& box, double y) {
    const Layout layout = canvas_->layout(text, box);
    drawing().cairo_move_to(canvas_->pen.get(), box.x, y);
    drawing().pango_cairo_show_layout(canvas_->pen.get(), layout.get());
}

double Paper::height_of(std::string_view text, const TextBox& box) {
    const Layout layout = canvas_->layout(text, box);
    PangoRectangle logical;
    drawing().pango_layout_get_extents(layout.get(), nullptr, &logical);
    return points(logical.height);
}

double Paper::widest_word(std::string_view text, Type type) {
    double widest = 0.0;
    for (std::size_t begin = 0; begin < text.size();) {
        const std::size_t end = std::min(text.find_first_of(" \n", begin), text.size());
        const Layout layout =
            canvas_->layout(text.substr(begin, end - begin), {.width = page_width, .type = type});
        PangoRectangle logical;
        drawing().pango_layout_get_extents(layout.get(), nullptr, &logical);
        widest = std::max(widest, points(logical.width));
        begin = end + 1;
    }
    return widest;
}

void Paper::begin(const char* element) {
    elements_.push_back(element);
    drawing().cairo_tag_begin(canvas_->pen.get(), element, nullptr);
}

void Paper::end(const char* element) {
    if (elements_.empty() || std::string_view{elements_.back()} != element)
        throw BrokenInvariant(fmt::format("certificate pages: {} was not open", element));
    elements_.pop_back();
    drawing().cairo_tag_end(canvas_->pen.get(), element);
}

void Paper::line(Spot from, Spot to, double width, bool dashed) {
    cairo_t* pen = canvas_->pen.get();
    const double dashes[] = {3.0, 2.5};
    drawing().cairo_set_line_width(pen, width);
    drawing().cairo_set_dash(pen, dashes, dashed ? 2 : 0, 0.0);
    drawing().cairo_move_to(pen, from.x, from.y);
    drawing().cairo_line_to(pen, to.x, to.y);
    drawing().cairo_stroke(pen);
}

void Paper::path(const std::vector<Spot>& points_of_path, double width) {
    cairo_t* pen = canvas_->pen.get();
    drawing().cairo_set_line_width(pen, width);
    drawing().cairo_set_dash(pen, nullptr, 0, 0.0);
    drawing().cairo_new_path(pen);
    for (const Spot& spot : points_of_path)
        drawing().cairo_line_to(pen, spot.x, spot.y);
    drawing().cairo_stroke(pen);
}

void Paper::ring(Spot centre, double radius) {
    cairo_t* pen = canvas_->pen.get();
    constexpr double full_turn = 6.283185307179586;
    drawing().cairo_new_sub_path(pen);
    drawing().cairo_arc(pen, centre.x, centre.y, radius, 0.0, full_turn);
    drawing().cairo_set_source_rgb(pen, 1.0, 1.0, 1.0);
    drawing().cairo_fill_preserve(pen);
    drawing().cairo_set_source_rgb(pen, 0.0, 0.0, 0.0);
    drawing().cairo_set_line_width(pen, 1.0);
    drawing().cairo_set_dash(pen, nullptr, 0, 0.0);
    drawing().cairo_stroke(pen);
}

Printed Paper::finish() {
    end_page();
    canvas_->pen.reset();
    drawing().cairo_surface_finish(canvas_->surface.get());
    if (drawing().cairo_surface_status(canvas_->surface.get()) != CAIRO_STATUS_SUCCESS)
        throw BrokenInvariant(fmt::format(
            "certificate pages: {}", drawing().cairo_status_to_string(
                                         drawing().cairo_surface_status(canvas_->surface.get()))));
    return {canvas_->bytes, page_};
}

} // namespace dropledger::report::certificate
