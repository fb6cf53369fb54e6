#pragma once

#include <vector>

#include "field.h"

namespace anfract::tracing {

/// Exact Euclidean distance (mm) of every voxel centre to the nearest voxel centre where `mask` is
/// 1; `far_mm` where none is within that. Separable lower envelopes of parabolas, O(n), the less
/// the nearer `far_mm` is [FelzenszwalbHuttenlocher2012].
std::vector<float> distance_to(const Mask& mask, const GridGeometry& geometry, unsigned threads,
                               double far_mm = 1e4);

/// Voxels of `mask` further than `radius_mm` from its outside.
Mask eroded(const Mask& mask, const GridGeometry& geometry, double radius_mm, unsigned threads);

/// Voxels within `radius_mm` of `mask`.
Mask dilated(const Mask& mask, const GridGeometry& geometry, double radius_mm, unsigned threads);

/// `mask` with gaps up to twice `radius_mm` wide closed, and what they then enclose.
Mask closed_over(const Mask& mask, const GridGeometry& geometry, double radius_mm,
                 unsigned threads);

}  // namespace anfract::tracing
