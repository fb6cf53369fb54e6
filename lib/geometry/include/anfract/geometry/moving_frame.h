#pragma once

#include <optional>
#include <vector>

#include "anfract/geometry/vec.h"

namespace anfract {

/// A right-handed frame (n1, n2, tangent) at one place of a curve.
struct MovingFrame {
    Vec3 n1, n2, tangent;
};

/// Frames along a curve that turn about its tangent as little as can be: unlike the Frenet frame
/// they neither spin at inflections nor fail where the curve is straight. Double reflection
/// [Wang2008, Table I], whose error over a curve of fixed length falls with the fourth power of the
/// spacing.
///
/// @param points    positions, mm
/// @param tangents  a unit tangent at each of them
/// @param first_n1  wished direction of the first n1, made normal to the first tangent;
/// any_normal() if absent
/// @pre as many tangents as points, at least one; neighbouring points differ
std::vector<MovingFrame> rotation_minimising_frames(const std::vector<Vec3>& points,
                                                    const std::vector<Vec3>& tangents,
                                                    const std::optional<Vec3>& first_n1 = {});

/// Some unit vector normal to `direction`: the axis farthest from it, made normal. @pre not zero
Vec3 any_normal(const Vec3& direction);

}  // namespace anfract
