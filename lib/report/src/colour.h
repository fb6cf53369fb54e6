#pragma once

#include <cairo.h>

#include <algorithm>

namespace anfract {

/// A colour of the paper look, sRGB in [0, 1].
struct Colour {
    double red = 0, green = 0, blue = 0;

    static constexpr Colour hex(unsigned rgb) {
        return {((rgb >> 16) & 255) / 255.0, ((rgb >> 8) & 255) / 255.0, (rgb & 255) / 255.0};
    }
    void set(cairo_t* cr, double alpha = 1) const {
        cairo_set_source_rgba(cr, red, green, blue, alpha);
    }
};

namespace paper {
constexpr Colour sheet = Colour::hex(0xffffff);
constexpr Colour ink = Colour::hex(0x20262e);
constexpr Colour quiet = Colour::hex(0x5b6570);
constexpr Colour rule = Colour::hex(0xc9ccc8);
constexpr Colour dentine = Colour::hex(0xe9dcc3);
constexpr Colour enamel = Colour::hex(0xdfe7ea);
constexpr Colour canal = Colour::hex(0x1d6f6a);
constexpr Colour cursor = Colour::hex(0x4b3fb5);
constexpr Colour risk[4] = {Colour::hex(0xd7dbd6), Colour::hex(0xc9b36b), Colour::hex(0xd98b3a),
                            Colour::hex(0xc8502f)};
}  // namespace paper

/// Tint of a risk step, 0 to 3; steps outside are clamped.
inline Colour risk_colour(int step) { return paper::risk[std::clamp(step, 0, 3)]; }

}  // namespace anfract
