#include "walls.h"

#include <Eigen/Geometry>
#include <algorithm>
#include <cmath>

namespace anfract::tracing {

double distance_out_mm(const Brick& depth, const Vec3& from_P, const Vec3& direction_P) {
    const auto depth_at = [&](double t) {
        return static_cast<double>(
            interpolate(depth, depth.geometry.to_voxel(from_P + t * direction_P)));
    };
    double inside = 0;
    double t = 0;
    double d = depth_at(0);
    if (d <= 0) return 0;
    while (t < longest_wall_mm && d > 0) {
        inside = t;
        // The distance field says how far one may go without meeting the surface.
        t += std::max(0.8 * d, 0.05);
        d = depth_at(t);
    }
    if (d > 0) return longest_wall_mm;
    double outside = t;
    for (int round = 0; round < 12; ++round) {
        const double middle = (inside + outside) / 2;
        (depth_at(middle) > 0 ? inside : outside) = middle;
    }
    return (inside + outside) / 2;
}

double lumen_radius_mm(const FittedSection& section, const Vec3& direction_P) {
    const Station& s = section.station;
    const double theta =
        std::atan2(direction_P.dot(s.n2_P), direction_P.dot(s.n1_P)) - section.long_axis_rad;
    const double half_long = section.diameter_mm / 2 * std::sqrt(section.ratio);
    const double half_short = section.diameter_mm / 2 / std::sqrt(section.ratio);
    return 1 / std::hypot(std::cos(theta) / half_long, std::sin(theta) / half_short);
}

}  // namespace anfract::tracing
