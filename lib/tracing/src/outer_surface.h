#pragma once

#include "levels.h"
#include "tooth_mask.h"

namespace anfract::tracing {

/// A signed field, mm, positive inside, whose zero level is the tooth's outer surface: the cheapest
/// closed one along the normals of a rough body within it, told from bone by the profile of its
/// blurred edge (docs/methods/tooth-surface.md). Canals up to `bridge_mm` wide are closed over. Its
/// voxels are some 0.25 mm.
Brick outer_surface(const Brick& brick, const Mask& rough, const GreyLevels& levels,
                    double bridge_mm, unsigned threads);

/// A mask less what has run out of such a surface: where voxels lie far outside, those near them
/// that lie outside at all are taken away too. One that lies within it stays as it is.
Mask without_leaks(const Mask& mask, const GridGeometry& geometry, const Brick& outer,
                   unsigned threads);

}  // namespace anfract::tracing
