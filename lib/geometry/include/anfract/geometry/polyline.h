#pragma once

#include <vector>

#include "anfract/geometry/vec.h"

namespace anfract {

/// A chain of straight segments in space, read by arc length from its first point.
///
/// Repeated points are dropped when it is made, so that arc length strictly rises.
class Polyline {
  public:
    Polyline() = default;
    explicit Polyline(const std::vector<Vec3>& points);

    const std::vector<Vec3>& points() const { return points_; }
    const std::vector<double>& arc_mm() const { return arc_mm_; }
    double length_mm() const { return arc_mm_.empty() ? 0.0 : arc_mm_.back(); }

    /// The point at arc length `s_mm`, clamped to [0, length_mm()]. @pre not empty
    Vec3 at(double s_mm) const;

    /// Points evenly spaced along the chain, both ends kept, at most `spacing_mm` apart. @pre
    /// spacing_mm > 0
    Polyline resampled(double spacing_mm) const;

    Polyline reversed() const;

    /// Distance of `point` from the chain, and the arc length of the nearest place. @pre not empty
    struct Nearest {
        double distance_mm;
        double s_mm;
    };
    Nearest nearest(const Vec3& point) const;

  private:
    std::vector<Vec3> points_;
    std::vector<double> arc_mm_;
};

}  // namespace anfract
