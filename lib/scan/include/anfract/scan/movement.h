#pragma once

#include <cmath>

#include "anfract/base/result.h"
#include "anfract/scan/volume.h"

namespace anfract {

/// What a scan's edges tell of a head that moved while it was taken: the image is then a mean of
/// the head in two or more places.
struct Movement {
    /// Between the two images of an edge, either way round, mm, where they stand clear of each
    /// other: 0.5 to 1.5 mm, to some 0.2 mm and 20 degrees.
    Vec3 shift_P{0, 0, 0};
    /// How high the fainter image of the edges stands against the other, on the side of things
    /// where it is lower. Phantoms that lay still stay below the bound of `stands_double`.
    double second_image = 0;
    Vec3 blur_axis_P{0, 0, 1};  ///< along which edges are softest; unit length
    double blur_ratio = 1;      ///< how soft they are along it against the next softest direction

    bool stands_double() const { return second_image > 0.075; }
    /// Cusps, furcations and root ends make edges softer along a tooth, which stands upright.
    bool smeared() const { return blur_ratio > 1.3 && std::abs(blur_axis_P.z()) < 0.6; }
};

/// Looks for movement in the edges of a region, which should hold a tooth's surface.
///
/// Grey values are followed along the normals of strong edges of the smoothed image. A head that
/// moved by d shows each edge again n.d further along its normal n, on both sides of whatever it
/// is, while what lies beside an edge by nature (ligament, enamel) lies outside on all sides; so
/// the second image is the d at which the lesser of the two sides' mean slopes there is surest.
/// Shorter movements soften the edges along themselves: their softness is fitted with a quadratic
/// form of the normal. Method, and what it finds on phantoms: docs/methods/survey.md, "Movement".
///
/// Errors: NotConverged when fewer than 300 edges can be used.
Result<Movement> find_movement(const Brick& brick, unsigned threads = 0);

}  // namespace anfract
