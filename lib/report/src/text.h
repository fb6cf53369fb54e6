#pragma once

#include <pango/pangocairo.h>

#include <memory>
#include <string>

#include "colour.h"

namespace anfract {

enum class Align { Left, Right, Centre };

struct TextStyle {
    double size_pt = 9;
    bool bold = false;
    Colour colour = paper::ink;
    Align align = Align::Left;
    bool one_line = false;       ///< cut with an ellipsis rather than wrap
    double line_spacing = 1.18;  ///< times the font's own height
};

/// A piece of text laid out by pango, so that its size is known before anything is drawn.
///
/// Digits are tabular. Scripts the letter's font lacks come from whatever font on the machine has
/// them, and right-to-left text is ordered and aligned by its own direction.
class Text {
  public:
    /// `width_pt` <= 0: as wide as the text is. `markup`: `text` holds pango markup.
    Text(cairo_t* cr, const std::string& text, const TextStyle& style, double width_pt = 0,
         bool markup = false);

    double width_pt() const { return width_pt_; }
    double height_pt() const { return height_pt_; }
    /// Distance from the top to the first baseline.
    double baseline_pt() const { return baseline_pt_; }
    bool was_cut() const { return pango_layout_is_ellipsized(layout_.get()); }

    /// Draws with the top left corner of the box at (x, y).
    void draw(double x_pt, double y_pt) const;
    /// Draws with the first baseline at y.
    void draw_on_baseline(double x_pt, double y_pt) const { draw(x_pt, y_pt - baseline_pt_); }

  private:
    struct Unref {
        void operator()(void* object) const { g_object_unref(object); }
    };
    cairo_t* cr_;
    std::unique_ptr<PangoLayout, Unref> layout_;
    Colour colour_;
    double width_pt_ = 0, height_pt_ = 0, baseline_pt_ = 0;
};

/// The text with &, < and > written so that they are no markup.
std::string escaped(const std::string& text);

/// A number with `decimals` digits after the point.
std::string fixed(double value, int decimals);

}  // namespace anfract
