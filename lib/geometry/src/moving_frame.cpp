#include "anfract/geometry/moving_frame.h"

#include <Eigen/Geometry>
#include <cassert>
#include <cmath>

namespace anfract {
namespace {

/// `vector` mirrored in the plane through the origin whose normal is `normal`, of any length.
Vec3 reflected(const Vec3& vector, const Vec3& normal) {
    const double length = normal.squaredNorm();
    if (length < 1e-30) return vector;  // no turn between the two: nothing to mirror
    return vector - 2.0 / length * normal.dot(vector) * normal;
}

Vec3 made_normal(const Vec3& wished, const Vec3& tangent) {
    const Vec3 flat = wished - wished.dot(tangent) * tangent;
    return flat.norm() > 1e-9 * wished.norm() ? flat.normalized() : any_normal(tangent);
}

/// A unit normal that mirrors have carried along, freed of what rounding has added; made anew where
/// they could not carry it (points that coincide, tangents that turn back).
Vec3 kept_normal(const Vec3& carried, const Vec3& tangent) {
    const Vec3 flat = carried - carried.dot(tangent) * tangent;
    const double excess = flat.squaredNorm() - 1;
    if (std::abs(excess) > 1e-8) return made_normal(carried, tangent);
    return (1 - excess / 2) * flat;  // 1/sqrt(1 + excess) to the last digit
}

}  // namespace

Vec3 any_normal(const Vec3& direction) {
    const Vec3 unit = direction.normalized();
    Eigen::Index axis = 0;
    unit.cwiseAbs().minCoeff(&axis);
    return (Vec3::Unit(axis) - unit[axis] * unit).normalized();
}

std::vector<MovingFrame> rotation_minimising_frames(const std::vector<Vec3>& points,
                                                    const std::vector<Vec3>& tangents,
                                                    const std::optional<Vec3>& first_n1) {
    assert(!points.empty() && points.size() == tangents.size());
    std::vector<MovingFrame> frames;
    frames.reserve(points.size());
    Vec3 n1 = first_n1 ? made_normal(*first_n1, tangents[0]) : any_normal(tangents[0]);
    for (std::size_t i = 0; i < points.size(); ++i) {
        if (i > 0) {
            // The first mirror swaps the two points; the second brings the mirrored tangent onto
            // the new one.
            const Vec3 chord = points[i] - points[i - 1];
            const Vec3 mirrored_tangent = reflected(tangents[i - 1], chord);
            n1 = reflected(reflected(n1, chord), tangents[i] - mirrored_tangent);
            n1 = kept_normal(n1, tangents[i]);
        }
        frames.push_back({n1, tangents[i].cross(n1), tangents[i]});
    }
    return frames;
}

}  // namespace anfract
