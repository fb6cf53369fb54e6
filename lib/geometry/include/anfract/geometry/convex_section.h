#pragma once

#include <Eigen/Core>
#include <vector>

#include "anfract/base/angle.h"
#include "anfract/geometry/ellipse.h"
#include "anfract/geometry/vec.h"

namespace anfract {

/// A convex region of a plane as an intersection of half-planes { u : n_j . u <= h_j } whose
/// outward normals n_j point in evenly spaced directions theta_j = 2 pi j / count from the first
/// axis.
///
/// Shrunk by a radius it is the region that the centre of a disc of that radius may occupy: exact
/// for the polygon, since moving every side inward by r is what eroding a convex polygon by a disc
/// does.
class ConvexSection {
  public:
    /// From support values h_j, one for each direction. A negative h_j excludes the origin. @pre at
    /// least 3
    explicit ConvexSection(Eigen::ArrayXd support_mm);

    /// The polygon circumscribed about an ellipse, touching it once on every side. Its area is too
    /// large by about pi^2 / (3 count^2): 0.6 % at 24 sides.
    static ConvexSection circumscribed(const Ellipse& ellipse, int count = 24);

    /// The convex hull, seen along `count` directions, of the rim whose distance from the origin is
    /// radius_mm[k] in direction 2 pi k / radius_mm.size(). Where the rim has a waist the hull has
    /// none: narrower places of a section that is not convex are overstated.
    static ConvexSection hull(const Eigen::ArrayXd& radius_mm, int count = 24);

    int count() const { return static_cast<int>(support_mm_.size()); }
    Angle direction(int j) const { return Angle::degrees(360.0 * j / count()); }
    Vec2 normal(int j) const;
    const Eigen::ArrayXd& support_mm() const { return support_mm_; }

    /// Every side moved inward by `radius_mm` (outward if negative). The result may be empty.
    ConvexSection shrunk_by(double radius_mm) const;

    bool contains(const Vec2& point, double slack_mm = 0.0) const;

    /// Corners counter-clockwise; none when the region is empty.
    std::vector<Vec2> vertices() const;

  private:
    Eigen::ArrayXd support_mm_;
};

/// Area within a polygon given counter-clockwise; negative if clockwise.
double polygon_area(const std::vector<Vec2>& corners);

}  // namespace anfract
