#pragma once

#include <optional>

#include "anfract/tooth/tooth.h"

namespace anfract {

/// Where a canal ends for its plan when it joins another: at the join, the shared part being shaped
/// through the other (common practice, no source). None for a canal that goes to its foramen.
std::optional<Branching> end_at_join(const Canal& canal, double short_of_foramen_mm);

}  // namespace anfract
