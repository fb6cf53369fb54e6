#pragma once

#include "anfract/base/angle.h"
#include "anfract/geometry/vec.h"

namespace anfract {

/// An ellipse about the origin of a plane.
struct Ellipse {
    double semi_long_mm = 0;
    double semi_short_mm = 0;
    Angle long_axis;  ///< counter-clockwise from the first axis of the plane

    double area_mm2() const;
    /// Distance from the centre to the rim in direction `theta`.
    double radius_mm(Angle theta) const;
    /// Distance from the centre to the tangent whose outward normal points in direction `theta`:
    /// h = sqrt(a^2 cos^2 + b^2 sin^2) of the angle from the long axis.
    double support_mm(Angle theta) const;
    bool contains(const Vec2& point) const;
};

/// The ellipse with the area of a circle of `diameter_mm` and the given ratio of long to short
/// diameter.
/// @pre ratio >= 1
Ellipse ellipse_of_equal_area(double diameter_mm, double ratio, Angle long_axis);

}  // namespace anfract
