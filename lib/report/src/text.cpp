#include "text.h"

#include <cstdio>

namespace anfract {
namespace {

// The generic family last lets fontconfig find the fonts for scripts the first ones lack.
constexpr const char* families = "Inter,Noto Sans,DejaVu Sans,sans-serif";

void set_font(PangoLayout* layout, const TextStyle& style) {
    PangoFontDescription* font = pango_font_description_new();
    pango_font_description_set_family(font, families);
    pango_font_description_set_weight(font,
                                      style.bold ? PANGO_WEIGHT_SEMIBOLD : PANGO_WEIGHT_NORMAL);
    pango_font_description_set_absolute_size(font, style.size_pt * PANGO_SCALE);
    pango_layout_set_font_description(layout, font);
    pango_font_description_free(font);
}

/// Distances must not depend on the pixels of some screen, so hinting is off.
void set_exact_metrics(PangoLayout* layout) {
    cairo_font_options_t* options = cairo_font_options_create();
    cairo_font_options_set_hint_style(options, CAIRO_HINT_STYLE_NONE);
    cairo_font_options_set_hint_metrics(options, CAIRO_HINT_METRICS_OFF);
    pango_cairo_context_set_font_options(pango_layout_get_context(layout), options);
    cairo_font_options_destroy(options);
    pango_context_set_round_glyph_positions(pango_layout_get_context(layout), FALSE);
}

void add_tabular_digits(PangoLayout* layout) {
    PangoAttrList* attributes = pango_layout_get_attributes(layout);
    attributes = attributes ? pango_attr_list_copy(attributes) : pango_attr_list_new();
    pango_attr_list_insert(attributes, pango_attr_font_features_new("tnum=1"));
    pango_layout_set_attributes(layout, attributes);
    pango_attr_list_unref(attributes);
}

}  // namespace

Text::Text(cairo_t* cr, const std::string& text, const TextStyle& style, double width_pt,
           bool markup)
    : cr_(cr), layout_(pango_cairo_create_layout(cr)), colour_(style.colour) {
    PangoLayout* layout = layout_.get();
    set_exact_metrics(layout);
    set_font(layout, style);
    if (markup) {
        pango_layout_set_markup(layout, text.data(), int(text.size()));
    } else {
        pango_layout_set_text(layout, text.data(), int(text.size()));
    }
    add_tabular_digits(layout);
    pango_layout_set_line_spacing(layout, float(style.line_spacing));
    const PangoAlignment alignment[] = {PANGO_ALIGN_LEFT, PANGO_ALIGN_RIGHT, PANGO_ALIGN_CENTER};
    pango_layout_set_alignment(layout, alignment[int(style.align)]);
    if (width_pt > 0) {
        pango_layout_set_width(layout, int(width_pt * PANGO_SCALE));
        pango_layout_set_wrap(layout, PANGO_WRAP_WORD_CHAR);
        if (style.one_line) pango_layout_set_ellipsize(layout, PANGO_ELLIPSIZE_END);
    }
    PangoRectangle logical;
    pango_layout_get_extents(layout, nullptr, &logical);
    width_pt_ = double(logical.width) / PANGO_SCALE;
    height_pt_ = double(logical.height) / PANGO_SCALE;
    baseline_pt_ = double(pango_layout_get_baseline(layout)) / PANGO_SCALE;
}

void Text::draw(double x_pt, double y_pt) const {
    colour_.set(cr_);
    cairo_move_to(cr_, x_pt, y_pt);
    pango_cairo_show_layout(cr_, layout_.get());
}

std::string escaped(const std::string& text) {
    char* plain = g_markup_escape_text(text.data(), gssize(text.size()));
    std::string result(plain);
    g_free(plain);
    return result;
}

std::string fixed(double value, int decimals) {
    char buffer[64];
    std::snprintf(buffer, sizeof buffer, "%.*f", decimals, value);
    return buffer;
}

}  // namespace anfract
