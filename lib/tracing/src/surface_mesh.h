#pragma once

#include "anfract/tooth/tooth.h"
#include "field.h"

namespace anfract::tracing {

/// The zero surface of a signed field (positive inside) as a closed triangle mesh, by surface nets:
/// one vertex in each cell the surface passes through, at the mean of its edge crossings
/// [Gibson1998]. Triangles are counter-clockwise from outside. The border of the brick counts as
/// outside, so that a body cut by it is closed there. `cell_mm` is the wanted edge length; the
/// field is read by interpolation.
Surface zero_surface(const Brick& field, double cell_mm);

/// Signed distance (mm, positive inside) of the voxel centres to the surface of a mask; some 2 mm
/// outside at most.
Brick signed_distance(const Mask& mask, const GridGeometry& geometry, unsigned threads);

}  // namespace anfract::tracing
