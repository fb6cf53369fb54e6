#pragma once

#include <vector>

#include "field.h"

namespace anfract::tracing {

/// How far the grey value on the straight way between two voxels rises above that of the brighter
/// of them; dentine between two dark places is such a ridge.
double ridge_between(const Brick& brick, std::size_t a, std::size_t b);

/// The length of a chain of voxels over which a ridge of at least `ridge_grey` parts it from the
/// nearest voxel of another chain, or over which that is further than `reach_mm` away.
double parted_mm(const Brick& brick, const std::vector<std::size_t>& chain,
                 const std::vector<std::size_t>& other, double ridge_grey, double reach_mm);

/// The place of a voxel, in voxels.
Vec3 voxel_I(const GridGeometry& geometry, std::size_t voxel);

/// Its centre.
Vec3 voxel_P(const GridGeometry& geometry, std::size_t voxel);

/// The voxel nearest to a point, of the border when that lies outside.
std::size_t nearest_voxel(const GridGeometry& geometry, const Vec3& point_P);

/// Distance of two voxels' centres.
double distance_mm(const GridGeometry& geometry, std::size_t a, std::size_t b);

}  // namespace anfract::tracing
