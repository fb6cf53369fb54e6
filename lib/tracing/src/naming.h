#pragma once

#include <string>
#include <vector>

#include "anfract/geometry/vec.h"

namespace anfract::tracing {

/// Names for the canals of a tooth from where they lie across it, in the terms of the trade.
///
/// `middle_mm`: for each canal its place across the tooth's axis, x toward mesial and y toward
/// buccal (labial), mm from the middle of the crown. Without a tooth number the names are A, B, C
/// ... in the order given. No two canals get the same name.
std::vector<std::string> canal_names(const std::string& fdi, const std::vector<Vec2>& middle_mm);

}  // namespace anfract::tracing
