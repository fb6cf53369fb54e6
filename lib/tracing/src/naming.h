#pragma once

#include <string>
#include <vector>

#include "anfract/geometry/vec.h"

namespace anfract::tracing {

/// Where a canal lies across the tooth's axis.
struct CanalPlace {
    Vec2 mm{0, 0};  ///< x toward mesial and y toward buccal (labial), from the middle of the crown
    bool divides_off = false;  ///< from another: it has no orifice of its own
};

/// Names for the canals of a tooth from where they lie, in the terms of the trade. Without a tooth
/// number the names are A, B, C ... in the order given. No two canals get the same name.
std::vector<std::string> canal_names(const std::string& fdi, const std::vector<CanalPlace>& at);

}  // namespace anfract::tracing
