#include "anfract/geometry/ellipse.h"

#include <cmath>
#include <numbers>

namespace anfract {

double Ellipse::area_mm2() const { return std::numbers::pi * semi_long_mm * semi_short_mm; }

double Ellipse::radius_mm(Angle theta) const {
    const double phi = (theta - long_axis).rad();
    const double across = std::hypot(semi_short_mm * std::cos(phi), semi_long_mm * std::sin(phi));
    return across > 0 ? semi_long_mm * semi_short_mm / across : 0.0;
}

double Ellipse::support_mm(Angle theta) const {
    const double phi = (theta - long_axis).rad();
    return std::hypot(semi_long_mm * std::cos(phi), semi_short_mm * std::sin(phi));
}

bool Ellipse::contains(const Vec2& point) const {
    const double distance = point.norm();
    if (distance == 0.0) return true;
    return distance <= radius_mm(Angle::radians(std::atan2(point.y(), point.x())));
}

Ellipse ellipse_of_equal_area(double diameter_mm, double ratio, Angle long_axis) {
    const double root = std::sqrt(ratio);
    return {0.5 * diameter_mm * root, 0.5 * diameter_mm / root, long_axis};
}

}  // namespace anfract
