#pragma once

#include "section.h"

namespace anfract::tracing {

/// A tube with an elliptical lumen as a scan shows it in the plane across: the share of dentine
/// that is missing, blurred by the point spread.
struct TubeModel {
    Vec2 centre_mm{0, 0};
    double area_mm2 = 0;
    double ratio = 1;          ///< long over short diameter
    double long_axis_rad = 0;  ///< from x toward y
    double sigma_mm = 0;       ///< of the point spread, interpolation included

    /// Missing share at a place, and how fast it grows with the area at the same shape, per mm^2.
    struct Value {
        double missing = 0, by_area = 0;
    };
    Value at(const Vec2& point_mm) const;

    double long_diameter_mm() const;
};

/// An area with its standard deviation.
struct AreaFit {
    double area_mm2 = 0, sd_mm2 = 0;
};

/// What a pixel of a section has to do with the fit of a tube.
enum class PixelRole : std::uint8_t { None, Window, Ring };

/// The most probable area of a tube of known place and shape: the missing share in the window is
/// compared with the model's, each pixel weighed by how much the model changes there with the area
/// and how dark it is there. The background was fitted to the ring, which holds a little of the
/// tube's own tail: that is allowed for. `missing` is this canal's share, one value a pixel. Zero
/// for a tube outside the window.
AreaFit fit_area(const SectionImage& image, const std::vector<float>& missing,
                 const std::vector<PixelRole>& roles, const SectionSetting& setting,
                 double contrast_grey, TubeModel model);

}  // namespace anfract::tracing
