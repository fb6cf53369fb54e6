#pragma once

#include <cairo.h>

#include <memory>
#include <string>

#include "anfract/base/result.h"

namespace anfract {

struct DestroySurface {
    void operator()(cairo_surface_t* surface) const { cairo_surface_destroy(surface); }
};
using Picture = std::unique_ptr<cairo_surface_t, DestroySurface>;

/// A PNG or JPEG picture, decoded. Errors: BadInput (neither, damaged, more than 8,000 pixels a
/// side).
Result<Picture> picture_from(const std::string& bytes);

/// Draws a picture with its top left corner at (x, y), `scale` points to a pixel.
void draw_picture(cairo_t* cr, const Picture& picture, double x_pt, double y_pt, double scale);

}  // namespace anfract
