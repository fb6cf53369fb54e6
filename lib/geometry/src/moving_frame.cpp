#include "anfract/geometry/moving_frame.h"

#include <Eigen/Geometry>
#include <cassert>
#include <cmath>

namespace anfract {
namespace {

/// A mirror in the plane through the origin across `normal`.
struct Mirror {
    /// @param normal  of any length; 0 where there is no turn and so nothing to mirror
    explicit Mirror(const Vec3& across) : normal(across) {
        const double square = normal.squaredNorm();
        if (square >= 1e-30) twice = 2 / square;
    }
    Vec3 operator()(const Vec3& vector) const {
        return vector - twice * normal.dot(vector) * normal;
    }

    Vec3 normal;
    double twice = 0;  ///< over the square of the normal's length
};

Vec3 made_normal(const Vec3& wished, const Vec3& tangent) {
    const Vec3 flat = wished - wished.dot(tangent) * tangent;
    return flat.norm() > 1e-9 * wished.norm() ? flat.normalized() : any_normal(tangent);
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
            const Mirror swap(points[i] - points[i - 1]);
            const Mirror align(tangents[i] - swap(tangents[i - 1]));
            n1 = align(swap(n1));
        }
        // Freed of what rounding has added, apart from the chain of mirrors, so that no mirror
        // waits for it; made anew where mirrors could not carry the normal (points that coincide,
        // tangents that turn back).
        Vec3 flat = n1 - n1.dot(tangents[i]) * tangents[i];
        const double excess = flat.squaredNorm() - 1;
        if (std::abs(excess) > 1e-8) {
            flat = n1 = made_normal(n1, tangents[i]);
        } else {
            flat *= 1 - excess / 2;  // 1/sqrt(1 + excess) to the last digit
        }
        frames.push_back({flat, tangents[i].cross(flat), tangents[i]});
    }
    return frames;
}

}  // namespace anfract
