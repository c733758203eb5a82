#include "analysis/report/pdf/drawing.hpp"

#include <dlfcn.h>

#include <string>

namespace dropledger::report::certificate {

namespace {

constexpr const char* library_name = "libpangocairo-1.0.so.0"; // the others come along with it

struct Loaded {
    Drawing functions{};
    std::string problem; // empty where all is there
};

template <class Function>
void find(void* library, const char* name, Function*& function, std::string& problem) {
    function = reinterpret_cast<Function*>(::dlsym(library, name));
    if (function == nullptr && problem.empty())
        problem = std::string("it has no ") + name;
}

void find_cairo(void* library, Drawing& d, std::string& problem) {
    find(library, "cairo_arc", d.cairo_arc, problem);
    find(library, "cairo_create", d.cairo_create, problem);
    find(library, "cairo_destroy", d.cairo_destroy, problem);
    find(library, "cairo_fill_preserve", d.cairo_fill_preserve, problem);
    find(library, "cairo_font_options_create", d.cairo_font_options_create, problem);
    find(library, "cairo_font_options_destroy", d.cairo_font_options_destroy, problem);
    find(library, "cairo_font_options_set_hint_metrics", d.cairo_font_options_set_hint_metrics,
         problem);
    find(library, "cairo_font_options_set_hint_style", d.cairo_font_options_set_hint_style,
         problem);
    find(library, "cairo_line_to", d.cairo_line_to, problem);
    find(library, "cairo_move_to", d.cairo_move_to, problem);
    find(library, "cairo_new_path", d.cairo_new_path, problem);
    find(library, "cairo_new_sub_path", d.cairo_new_sub_path, problem);
    find(library, "cairo_pdf_surface_create_for_stream", d.cairo_pdf_surface_create_for_stream,
         problem);
    find(library, "cairo_pdf_surface_set_metadata", d.cairo_pdf_surface_set_metadata, problem);
    find(library, "cairo_set_dash", d.cairo_set_dash, problem);
    find(library, "cairo_set_line_width", d.cairo_set_line_width, problem);
    find(library, "cairo_set_source_rgb", d.cairo_set_source_rgb, problem);
    find(library, "cairo_show_page", d.cairo_show_page, problem);
    find(library, "cairo_status_to_string", d.cairo_status_to_string, problem);
    find(library, "cairo_stroke", d.cairo_stroke, problem);
    find(library, "cairo_surface_destroy", d.cairo_surface_destroy, problem);
    find(library, "cairo_surface_finish", d.cairo_surface_finish, problem);
    find(library, "cairo_surface_status", d.cairo_surface_status, problem);
}

void find_fonts(void* library, Drawing& d, std::string& problem) {
    find(library, "g_object_unref", d.g_object_unref, problem);
    find(library, "pango_attr_insert_hyphens_new", d.pango_attr_insert_hyphens_new, problem);
    find(library, "pango_attr_list_insert", d.pango_attr_list_insert, problem);
    find(library, "pango_attr_list_new", d.pango_attr_list_new, problem);
    find(library, "pango_attr_list_unref", d.pango_attr_list_unref, problem);
    find(library, "pango_cairo_context_set_font_options", d.pango_cairo_context_set_font_options,
         problem);
    find(library, "pango_font_description_free", d.pango_font_description_free, problem);
    find(library, "pango_font_description_new", d.pango_font_description_new, problem);
    find(library, "pango_font_description_set_absolute_size",
         d.pango_font_description_set_absolute_size, problem);
    find(library, "pango_font_description_set_family", d.pango_font_description_set_family,
         problem);
    find(library, "pango_font_description_set_weight", d.pango_font_description_set_weight,
         problem);
}

void find_layouts(void* library, Drawing& d, std::string& problem) {
    find(library, "pango_cairo_create_layout", d.pango_cairo_create_layout, problem);
    find(library, "pango_cairo_show_layout", d.pango_cairo_show_layout, problem);
    find(library, "pango_cairo_show_layout_line", d.pango_cairo_show_layout_line, problem);
    find(library, "pango_layout_get_context", d.pango_layout_get_context, problem);
    find(library, "pango_layout_get_extents", d.pango_layout_get_extents, problem);
    find(library, "pango_layout_get_iter", d.pango_layout_get_iter, problem);
    find(library, "pango_layout_iter_free", d.pango_layout_iter_free, problem);
    find(library, "pango_layout_iter_get_baseline", d.pango_layout_iter_get_baseline, problem);
    find(library, "pango_layout_iter_get_line_extents", d.pango_layout_iter_get_line_extents,
         problem);
    find(library, "pango_layout_iter_get_line_readonly", d.pango_layout_iter_get_line_readonly,
         problem);
    find(library, "pango_layout_iter_next_line", d.pango_layout_iter_next_line, problem);
    find(library, "pango_layout_set_alignment", d.pango_layout_set_alignment, problem);
    find(library, "pango_layout_set_attributes", d.pango_layout_set_attributes, problem);
    find(library, "pango_layout_set_ellipsize", d.pango_layout_set_ellipsize, problem);
    find(library, "pango_layout_set_font_description", d.pango_layout_set_font_description,
         problem);
    find(library, "pango_layout_set_height", d.pango_layout_set_height, problem);
    find(library, "pango_layout_set_text", d.pango_layout_set_text, problem);
    find(library, "pango_layout_set_width", d.pango_layout_set_width, problem);
    find(library, "pango_layout_set_wrap", d.pango_layout_set_wrap, problem);
}

Loaded load() {
    Loaded loaded;
    void* const library = ::dlopen(library_name, RTLD_LAZY | RTLD_LOCAL);
    if (library == nullptr) {
        const char* const why = ::dlerror();
        loaded.problem = why != nullptr ? why : "it cannot be loaded";
        return loaded;
    }
    find_cairo(library, loaded.functions, loaded.problem);
    find_fonts(library, loaded.functions, loaded.problem);
    find_layouts(library, loaded.functions, loaded.problem);
    return loaded;
}

const Loaded& loaded() {
    static const Loaded once = load();
    return once;
}

} // namespace

Status loads_drawing() {
    if (loaded().problem.empty())
        return Done{};
    return device_error(library_name, loaded().problem,
                        "install libpango-1.0-0 and libpangocairo-1.0-0");
}

const Drawing& drawing() {
    if (!loaded().problem.empty())
        throw BrokenInvariant("a page is drawn without the library for it: " + loaded().problem);
    return loaded().functions;
}

} // namespace dropledger::report::certificate
