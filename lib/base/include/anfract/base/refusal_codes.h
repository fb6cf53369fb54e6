#pragma once

#include "anfract/base/result.h"

namespace anfract {

// Codes of refusals that only those who store for several people give. They stand apart from
// ErrorCode, which every room includes, and continue its numbers.

/// Someone else has changed it, or said otherwise, in the meantime.
inline constexpr ErrorCode refused_for_conflict = static_cast<ErrorCode>(100);

/// There is no room for what was to be written.
inline constexpr ErrorCode refused_for_room = static_cast<ErrorCode>(101);

}  // namespace anfract
