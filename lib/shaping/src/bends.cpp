#include <algorithm>
#include <cmath>
#include <numbers>

#include "anfract/shaping/order.h"

namespace anfract {
namespace {

/// The first millimetre belongs to the opening, which straightens it; its curvature is also the
/// least certain.
constexpr double opening_mm = 1.0;

/// Angle between two unit vectors, also when they are nearly parallel.
double angle_rad(const Vec3& a, const Vec3& b) {
    return 2 * std::atan2((a - b).norm(), (a + b).norm());
}

/// Curvature at a station from the tangents half a millimetre to both sides, so that single points
/// say little.
double curvature_per_mm(const Lumen& lumen, int station) {
    const double spacing = lumen.spacing_mm();
    const int reach = std::max(1, int(std::lround(0.5 / std::max(spacing, 1e-6))));
    const int lo = std::max(0, station - reach);
    const int hi = std::min(lumen.station_count() - 1, station + reach);
    const double gap = lumen.depth_mm[std::size_t(hi)] - lumen.depth_mm[std::size_t(lo)];
    if (gap <= 0) return 0;
    return angle_rad(lumen.tangent_P[std::size_t(lo)], lumen.tangent_P[std::size_t(hi)]) / gap;
}

/// Angle between the chords of two millimetres above and below a station: a wrinkle of a traced
/// line turns within less and back.
double turn_rad(const Lumen& lumen, int station) {
    const int reach = std::max(1, int(std::lround(2 / std::max(lumen.spacing_mm(), 1e-6))));
    const Vec3& here = lumen.point_P[std::size_t(station)];
    const Vec3 above = here - lumen.point_P[std::size_t(std::max(0, station - reach))];
    const int last = lumen.station_count() - 1;
    const Vec3 below = lumen.point_P[std::size_t(std::min(last, station + reach))] - here;
    if (above.norm() == 0 || below.norm() == 0) return 0;
    return angle_rad(above.normalized(), below.normalized());
}

}  // namespace

double bend_start_mm(const Lumen& lumen) {
    const double least_rad = 5 * std::numbers::pi / 180;
    for (int i = 0; i < lumen.station_count(); ++i) {
        if (lumen.depth_mm[std::size_t(i)] < lumen.depth_mm.front() + opening_mm) continue;
        if (curvature_per_mm(lumen, i) < 1.0 / 20) continue;
        const double follows = angle_rad(lumen.tangent_P[std::size_t(i)], lumen.tangent_P.back());
        if (turn_rad(lumen, i) < least_rad) continue;
        // A wiggle is no bend: the canal must really go elsewhere below.
        if (follows >= least_rad) return lumen.depth_mm[std::size_t(i)];
    }
    return lumen.depth_mm.back();
}

AtDepth sharpest_bend_per_mm(const Lumen& lumen) {
    AtDepth sharpest;
    for (int i = 0; i < lumen.station_count(); ++i) {
        if (lumen.depth_mm[std::size_t(i)] < lumen.depth_mm.front() + opening_mm) continue;
        const double curvature = curvature_per_mm(lumen, i);
        if (curvature > sharpest.value) sharpest = {curvature, lumen.depth_mm[std::size_t(i)]};
    }
    return sharpest;
}

}  // namespace anfract
