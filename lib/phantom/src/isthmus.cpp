#include "isthmus.h"

#include <algorithm>
#include <cmath>

namespace anfract {

namespace {

constexpr double step_mm = 0.05;

/// Where a centreline crosses each height.
std::vector<Vec2> heights(const VaryingTube& tube, double from_z, double to_z) {
    std::vector<Vec2> line;
    const auto& stations = tube.stations();
    std::size_t at = 0;
    for (double z = from_z; z <= to_z + step_mm / 2; z += step_mm) {
        while (at + 2 < stations.size() && stations[at + 1].centre.z() < z) ++at;
        const Vec3 &a = stations[at].centre, &b = stations[at + 1].centre;
        const double t = std::clamp((z - a.z()) / std::max(b.z() - a.z(), 1e-9), 0.0, 1.0);
        line.push_back((a + t * (b - a)).head<2>());
    }
    return line;
}

}  // namespace

Isthmus::Isthmus(const VaryingTube& first, const VaryingTube& second, double thickness_mm,
                 double from_z_mm, double to_z_mm)
    : first_(heights(first, from_z_mm, to_z_mm)),
      second_(heights(second, from_z_mm, to_z_mm)),
      thickness_mm_(thickness_mm),
      from_z_mm_(from_z_mm),
      to_z_mm_(to_z_mm) {}

double Isthmus::distance_mm(const Vec3& point) const {
    const double beyond = std::max(from_z_mm_ - point.z(), point.z() - to_z_mm_);
    const double place =
        std::clamp((point.z() - from_z_mm_) / step_mm, 0.0, static_cast<double>(first_.size() - 1));
    const auto n = static_cast<std::size_t>(place);
    const Vec2 along = second_[n] - first_[n];
    const Vec2 from = point.head<2>() - first_[n];
    const double t = std::clamp(from.dot(along) / std::max(along.squaredNorm(), 1e-12), 0.0, 1.0);
    return std::max((from - t * along).norm() - thickness_mm_ / 2, beyond);
}

}  // namespace anfract
