#pragma once

#include "anfract/geometry/vec.h"

namespace anfract {

/// The direction from which angles in a section of a canal are counted (see Canal): the patient's x
/// axis projected onto the section, or y where x is within 10 degrees of the tangent. A unit
/// vector.
/// @pre tangent_P is a unit vector
Vec3 section_zero_P(const Vec3& tangent_P);

}  // namespace anfract
