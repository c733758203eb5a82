// cairo and Pango, brought in when a page is drawn: they and the thirty libraries behind them take
// longer to load than most runs of the program.
//
// Undefined when: loads_drawing() fails: drawing() throws BrokenInvariant.
#pragma once

#include "analysis/base/result.hpp"

#include <cairo-pdf.h>
#include <pango/pangocairo.h>

namespace dropledger::report::certificate {

// Their functions, by their own names. A macro, for a name has to become a member and a text.
// clang-format off
#define DROPLEDGER_DRAWING(use) \
    use(cairo_arc) \
    use(cairo_create) \
    use(cairo_destroy) \
    use(cairo_fill_preserve) \
    use(cairo_font_options_create) \
    use(cairo_font_options_destroy) \
    use(cairo_font_options_set_hint_metrics) \
    use(cairo_font_options_set_hint_style) \
    use(cairo_line_to) \
    use(cairo_move_to) \
    use(cairo_new_path) \
    use(cairo_new_sub_path) \
    use(cairo_pdf_surface_create_for_stream) \
    use(cairo_pdf_surface_set_metadata) \
    use(cairo_set_dash) \
    use(cairo_set_line_width) \
    use(cairo_set_source_rgb) \
    use(cairo_show_page) \
    use(cairo_status_to_string) \
    use(cairo_stroke) \
    use(cairo_surface_destroy) \
    use(cairo_surface_finish) \
    use(cairo_surface_status) \
    use(cairo_tag_begin) \
    use(cairo_tag_end) \
    use(g_object_unref) \
    use(pango_attr_insert_hyphens_new) \
    use(pango_attr_list_insert) \
    use(pango_attr_list_new) \
    use(pango_attr_list_unref) \
    use(pango_cairo_context_set_font_options) \
    use(pango_cairo_create_layout) \
    use(pango_cairo_show_layout) \
    use(pango_cairo_show_layout_line) \
    use(pango_font_description_free) \
    use(pango_font_description_new) \
    use(pango_font_description_set_absolute_size) \
    use(pango_font_description_set_family) \
    use(pango_font_description_set_weight) \
    use(pango_layout_get_context) \
    use(pango_layout_get_extents) \
    use(pango_layout_get_iter) \
    use(pango_layout_iter_free) \
    use(pango_layout_iter_get_baseline) \
    use(pango_layout_iter_get_line_extents) \
    use(pango_layout_iter_get_line_readonly) \
    use(pango_layout_iter_next_line) \
    use(pango_layout_set_alignment) \
    use(pango_layout_set_attributes) \
    use(pango_layout_set_ellipsize) \
    use(pango_layout_set_font_description) \
    use(pango_layout_set_height) \
    use(pango_layout_set_text) \
    use(pango_layout_set_width) \
    use(pango_layout_set_wrap)
// clang-format on

struct Drawing {
// A member cannot stand in parentheses. NOLINTNEXTLINE(bugprone-macro-parentheses)
#define DROPLEDGER_MEMBER(name) decltype(&::name) name;
    DROPLEDGER_DRAWING(DROPLEDGER_MEMBER)
#undef DROPLEDGER_MEMBER
};

[[nodiscard]] Status loads_drawing();
[[nodiscard]] const Drawing& drawing();

} // namespace dropledger::report::certificate
