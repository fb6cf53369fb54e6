#include "watched_wall.h"

#include <Eigen/Geometry>
#include <algorithm>
#include <cmath>
#include <numbers>

namespace anfract {
namespace {

constexpr double step_mm = 0.5;
/// Half the length over which the turning of a canal is taken.
constexpr double arm_mm = 0.5;
/// A canal that bends less has no inner wall to speak of: radius 20 mm, as where a bend starts.
constexpr double least_curvature_per_mm = 1.0 / 20;

/// Toward the middle of the curve, unit; none where the canal is all but straight.
std::optional<Vec3> inner_side(const Lumen& lumen, int station) {
    const int arm = std::max(1, int(std::lround(arm_mm / lumen.spacing_mm())));
    const int low = std::max(0, station - arm);
    const int high = std::min(lumen.station_count() - 1, station + arm);
    const double length = (high - low) * lumen.spacing_mm();
    if (length <= 0) return std::nullopt;
    const Vec3 turn = lumen.tangent_P[std::size_t(high)] - lumen.tangent_P[std::size_t(low)];
    if (turn.norm() / length < least_curvature_per_mm) return std::nullopt;
    return Vec3(turn.normalized());
}

/// Column of the sheet that looks toward a direction.
int column_toward(const Lumen& lumen, int station, const Vec3& direction) {
    const std::size_t i = std::size_t(station);
    const double turn = std::atan2(direction.dot(lumen.n2_P[i]), direction.dot(lumen.n1_P[i])) /
                        (2 * std::numbers::pi);
    const int count = lumen.theta_count();
    return int(std::lround((turn - std::floor(turn)) * count)) % count;
}

std::optional<double> known(double wall_mm) {
    return std::isnan(wall_mm) ? std::nullopt : std::optional<double>(wall_mm);
}

}  // namespace

WatchedWall watched_wall(const Lumen& before, const Lumen& after,
                         const std::optional<Vec3>& furcation_side, double to_depth_mm) {
    WatchedWall watched;
    const int step = std::max(1, int(std::lround(step_mm / after.spacing_mm())));
    for (int i = 0; i < after.station_count(); i += step) {
        std::optional<double> wall;
        const bool counts = after.depth_mm[std::size_t(i)] <= to_depth_mm;
        if (const auto inner = inner_side(after, i); inner && counts)
            wall = known(after.wall_mm(i, column_toward(after, i, *inner)));
        bool danger = false;
        if (furcation_side && counts) {
            const auto far = known(after.wall_mm(i, column_toward(after, i, *furcation_side)));
            danger = far && (!wall || *far <= *wall);
            if (danger) wall = far;
        }
        watched.depth_mm.push_back(after.depth_mm[std::size_t(i)]);
        watched.removed_mm.push_back(
            std::max(0.0, (after.radius_mm.row(i) - before.radius_mm.row(i)).maxCoeff()));
        watched.wall_mm.push_back(wall);
        watched.danger_zone.push_back(danger);
    }
    return watched;
}

}  // namespace anfract
