#pragma once

#include "anfract/tooth/tooth.h"

namespace anfract::exchange {

/// A closed tube of a canal's elliptic sections, prolonged straight at both ends by the lengths
/// given with the sections of its ends. @pre at least two samples
Surface canal_tube(const Canal& canal, double above_mm, double beyond_mm);

/// A closed round tube between two points. @pre they differ
Surface straight_tube(const Vec3& from_P, const Vec3& to_P, double from_radius_mm,
                      double to_radius_mm);

/// A closed box along the axes of the frame of its corners.
Surface box(const Vec3& low, const Vec3& high);

}  // namespace anfract::exchange
