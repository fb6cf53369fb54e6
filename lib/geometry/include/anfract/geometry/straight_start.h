#pragma once

#include "anfract/geometry/polyline.h"
#include "anfract/geometry/vec.h"

namespace anfract {

/// The straight part that a chain begins with, and the line along it.
struct StraightStart {
    Vec3 direction;        ///< unit vector along the line, into the chain
    Vec3 departure;        ///< where the chain leaves the line
    double length_mm = 0;  ///< arc length of the straight part; 0 when the chain bends at once
    bool whole = false;    ///< the chain never leaves the line
};

/// How straight is straight.
struct StraightStartOptions {
    double tolerance_mm = 0.10;  ///< within this distance of its line a part counts as straight
    double fit_to_mm = 0.30;  ///< the fit looks as far as the chain strays from that line by this
};

/// Finds where a chain leaves the straight line it begins with.
///
/// First the longest initial part whose points, but one in twenty, lie within `tolerance_mm` of its
/// own least-squares line. That part runs on into the bend by sqrt(2 R tolerance), and its line is
/// tilted by the bend, so the place is then refined: with x along the line and y across it, a line
/// that goes over into a circle of curvature k at x0 obeys y = k/2 ((x - x0)^2 + |y|^2) for x > x0,
/// exactly; x0, k and the line are fitted together to all points up to `fit_to_mm`. So wide a fit
/// bears scatter of the points, but a bend that is over within it falsifies it; where half or a
/// quarter of both limits leaves hardly any error in place of some, that is taken. When x0 falls
/// before the first point the chain has no straight part and `direction` is the tangent of that
/// circle at its first point.
///
/// Exact for a line and an arc, up to rounding. Points that scatter by 0.03 mm, alone or in waves
/// of some millimetres, move the angle to the foramen of a 60 degree bend by 1 to 3 degrees.
/// @pre at least two points
StraightStart straight_start(const Polyline& chain, const StraightStartOptions& options = {});

/// Radius (mm) of the circle through three points, abc / (4 area); infinity when they are in line.
double circumradius_mm(const Vec3& a, const Vec3& b, const Vec3& c);

}  // namespace anfract
