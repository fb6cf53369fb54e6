#pragma once

#include <optional>

#include "anfract/passage/lumen.h"
#include "anfract/plan/plan.h"

namespace anfract {

/// Reads the wall at the inner side of each bend, and toward the furcation where that is given and
/// thinner, every half millimetre. Below
/// `to_depth_mm` walls are no finding. @pre `before` and `after` have the same stations
WatchedWall watched_wall(const Lumen& before, const Lumen& after,
                         const std::optional<Vec3>& furcation_side, double to_depth_mm);

}  // namespace anfract
