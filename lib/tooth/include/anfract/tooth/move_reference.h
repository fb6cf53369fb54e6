#pragma once

#include "anfract/tooth/tooth.h"

namespace anfract {

/// The tooth with its depths counted from another point: every depth of a canal grows by
/// |orifice - new| - |orifice - old|, the straight stretch from the reference point to the orifice.
/// Nothing else changes.
Tooth with_reference(Tooth tooth, const Vec3& reference_P);

}  // namespace anfract
