// cairo and Pango, brought in when a page is drawn: they and the thirty libraries behind them take
// longer to load than most runs of the program.
//
// Undefined when: loads_drawing() fails: drawing() throws BrokenInvariant.
#pragma once

#include "analysis/base/result.hpp"

#include <cairo-pdf.h>
#include <pango/pangocairo.h>

namespace dropledger::report::certificate {

// Their functions, by their own names.
struct Drawing {
    decltype(&::cairo_arc) cairo_arc;
    decltype(&::cairo_create) cairo_create;
    decltype(&::cairo_destroy) cairo_destroy;
    decltype(&::cairo_fill_preserve) cairo_fill_preserve;
    decltype(&::cairo_font_options_create) cairo_font_options_create;
    decltype(&::cairo_font_options_destroy) cairo_font_options_destroy;
    decltype(&::cairo_font_options_set_hint_metrics) cairo_font_options_set_hint_metrics;
    decltype(&::cairo_font_options_set_hint_style) cairo_font_options_set_hint_style;
    decltype(&::cairo_line_to) cairo_line_to;
    decltype(&::cairo_move_to) cairo_move_to;
    decltype(&::cairo_new_path) cairo_new_path;
    decltype(&::cairo_new_sub_path) cairo_new_sub_path;
    decltype(&::cairo_pdf_surface_create_for_stream) cairo_pdf_surface_create_for_stream;
    decltype(&::cairo_pdf_surface_set_metadata) cairo_pdf_surface_set_metadata;
    decltype(&::cairo_set_dash) cairo_set_dash;
    decltype(&::cairo_set_line_width) cairo_set_line_width;
    decltype(&::cairo_set_source_rgb) cairo_set_source_rgb;
    decltype(&::cairo_show_page) cairo_show_page;
    decltype(&::cairo_status_to_string) cairo_status_to_string;
    decltype(&::cairo_stroke) cairo_stroke;
    decltype(&::cairo_surface_destroy) cairo_surface_destroy;
    decltype(&::cairo_surface_finish) cairo_surface_finish;
    decltype(&::cairo_surface_status) cairo_surface_status;
    decltype(&::g_object_unref) g_object_unref;
    decltype(&::pango_attr_insert_hyphens_new) pango_attr_insert_hyphens_new;
    decltype(&::pango_attr_list_insert) pango_attr_list_insert;
    decltype(&::pango_attr_list_new) pango_attr_list_new;
    decltype(&::pango_attr_list_unref) pango_attr_list_unref;
    decltype(&::pango_cairo_context_set_font_options) pango_cairo_context_set_font_options;
    decltype(&::pango_cairo_create_layout) pango_cairo_create_layout;
    decltype(&::pango_cairo_show_layout) pango_cairo_show_layout;
    decltype(&::pango_cairo_show_layout_line) pango_cairo_show_layout_line;
    decltype(&::pango_font_description_free) pango_font_description_free;
    decltype(&::pango_font_description_new) pango_font_description_new;
    decltype(&::pango_font_description_set_absolute_size) pango_font_description_set_absolute_size;
    decltype(&::pango_font_description_set_family) pango_font_description_set_family;
    decltype(&::pango_font_description_set_weight) pango_font_description_set_weight;
    decltype(&::pango_layout_get_context) pango_layout_get_context;
    decltype(&::pango_layout_get_extents) pango_layout_get_extents;
    decltype(&::pango_layout_get_iter) pango_layout_get_iter;
    decltype(&::pango_layout_iter_free) pango_layout_iter_free;
    decltype(&::pango_layout_iter_get_baseline) pango_layout_iter_get_baseline;
    decltype(&::pango_layout_iter_get_line_extents) pango_layout_iter_get_line_extents;
    decltype(&::pango_layout_iter_get_line_readonly) pango_layout_iter_get_line_readonly;
    decltype(&::pango_layout_iter_next_line) pango_layout_iter_next_line;
    decltype(&::pango_layout_set_alignment) pango_layout_set_alignment;
    decltype(&::pango_layout_set_attributes) pango_layout_set_attributes;
    decltype(&::pango_layout_set_ellipsize) pango_layout_set_ellipsize;
    decltype(&::pango_layout_set_font_description) pango_layout_set_font_description;
    decltype(&::pango_layout_set_height) pango_layout_set_height;
    decltype(&::pango_layout_set_text) pango_layout_set_text;
    decltype(&::pango_layout_set_width) pango_layout_set_width;
    decltype(&::pango_layout_set_wrap) pango_layout_set_wrap;
};

[[nodiscard]] Status loads_drawing();
[[nodiscard]] const Drawing& drawing();

} // namespace dropledger::report::certificate
