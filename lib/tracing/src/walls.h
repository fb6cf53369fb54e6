#pragma once

#include <vector>

#include "canal_fit.h"
#include "field.h"

namespace anfract::tracing {

inline constexpr int theta_count = 24;
inline constexpr double longest_wall_mm = 15;

/// Distance from a point inside the tooth to its outer surface along a unit direction, mm.
double distance_out_mm(const Brick& depth, const Vec3& from_P, const Vec3& direction_P);

/// Where the canal of a section ends in a direction: half the diameter of its ellipse there, mm.
double lumen_radius_mm(const FittedSection& section, const Vec3& direction_P);

}  // namespace anfract::tracing
