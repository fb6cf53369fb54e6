#pragma once

#include <vector>

#include "anfract/scan/volume.h"

namespace anfract {

/// A place on an edge.
struct EdgePoint {
    Vec3 voxel_I;  ///< where the gradient is largest
    Vec3 normal;   ///< unit gradient in voxel axes scaled to mm
    double strength = 0;
};

/// Which edge points are looked for.
struct EdgeSearch {
    int margin_voxels = 4;  ///< to the border, at least 4
    double weakest = 0;     ///< slope, grey per mm
    int every = 1;          ///< of the voxels, one in so many is looked at
};

/// Points where the gradient of a smoothed image is larger than one voxel ahead and behind along
/// itself.
std::vector<EdgePoint> edge_points(const Brick& smooth, const EdgeSearch& search, unsigned threads);

/// Every n-th: about as many as are wanted, up to twice that, spread over all of them.
std::vector<EdgePoint> thinned(const std::vector<EdgePoint>& points, std::size_t wanted);

/// The strength below which the share `q` of the points lies. @pre there are some
double strength_quantile(const std::vector<EdgePoint>& points, double q);

}  // namespace anfract
