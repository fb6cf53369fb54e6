#pragma once

#include <vector>

#include "anfract/geometry/vec.h"

namespace anfract {

/// A tube about a curved axis whose section is an ellipse that varies along it; it ends in half
/// ellipsoids.
///
/// The axis must rise in z (the tooth frame's apical direction) on the whole, which lets the
/// nearest place be found from a table by height and a few steps along the axis.
class VaryingTube {
  public:
    struct Station {
        Vec3 centre;
        Vec3 tangent;     // unit
        Vec3 first_axis;  // unit, normal to the tangent
        Vec3 second_axis;
        double first_half_mm;
        double second_half_mm;
    };

    VaryingTube() = default;
    /// Stations evenly spaced by `spacing_mm`; the caps stand out by `start_cap_mm` and
    /// `end_cap_mm`.
    VaryingTube(std::vector<Station> stations, double spacing_mm, double start_cap_mm,
                double end_cap_mm);

    const std::vector<Station>& stations() const { return stations_; }

    /// Signed distance, negative inside. Exact for a round straight tube; for an ellipse it is
    /// right to first order near the surface. Farther than 2 mm from the box round the tube it is
    /// the distance to that box.
    double distance_mm(const Vec3& point) const;

    /// Box that holds the tube.
    const Vec3& box_min() const { return box_min_; }
    const Vec3& box_max() const { return box_max_; }

  private:
    std::size_t nearest_station(const Vec3& point) const;

    std::vector<Station> stations_;
    double spacing_mm_ = 0.1;
    double start_cap_mm_ = 0.1;
    double end_cap_mm_ = 0.1;
    Vec3 box_min_{0, 0, 0};
    Vec3 box_max_{0, 0, 0};
    std::vector<std::size_t> by_height_;  // station for each step of height
};

/// Unit axes of an ellipse normal to `tangent`, the first as near as can be to `wanted`.
void section_axes(const Vec3& tangent, const Vec3& wanted, Vec3& first, Vec3& second);

}  // namespace anfract
