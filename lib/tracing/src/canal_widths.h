#pragma once

#include <vector>

#include "section.h"

namespace anfract::tracing {

/// Size and shape of a section.
struct SectionShape {
    double diameter_mm = 0;  ///< of equal area
    double diameter_sd_mm = 0;
    double ratio = 1;          ///< long over short diameter
    double long_axis_rad = 0;  ///< from n1 toward n2
};

/// A diameter that the user drew, of the section at that position.
struct DrawnWidth {
    std::size_t at = 0;
    double diameter_mm = 0;
};

inline constexpr double fixed_sd_mm = 0.002;  ///< of what the user fixed

/// The most probable smooth diameters of sections `spacing_mm` apart, and the ellipses: what is not
/// measured is as oval as the nearest section that is. docs/methods/tracing.md, "Fit".
std::vector<SectionShape> smooth_widths(const std::vector<SectionMeasure>& measures,
                                        const std::vector<DrawnWidth>& drawn, double spacing_mm,
                                        const SectionSetting& setting);

}  // namespace anfract::tracing
