#pragma once

#include "field.h"

namespace anfract::tracing {

/// Takes from hard tissue that hangs together what is a body of its own, joined to the one round
/// the click by a neck less than 0.6 times as thick as either: a tooth that touches it. Bodies are
/// the basins of the distance to the outside; basins less than 2 mm deep are parts of what they lie
/// by. docs/methods/tooth-surface.md.
Mask without_neighbours(const Mask& hard, const GridGeometry& geometry, const Vec3& click_P,
                        unsigned threads);

}  // namespace anfract::tracing
