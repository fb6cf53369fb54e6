#pragma once

#include <cstddef>
#include <vector>

#include "field.h"

namespace anfract::tracing {

/// Face-connected pieces of a mask: `label` is 0 outside, else 1 + the position in `sizes`.
struct Components {
    std::vector<int> label;
    std::vector<std::size_t> sizes;  ///< voxels of each piece
};
Components components(const Mask& mask, const GridGeometry& geometry);

/// What lies so near to the click is looked at to tell what the click means.
constexpr double click_reach_mm = 4.5;

/// Of labels from 0, which counts for nothing, to `most`: the one that most voxels within
/// `radius_mm` of a point bear; 0 when none does.
int label_round(const std::vector<int>& label, int most, const GridGeometry& geometry,
                const Vec3& point_P, double radius_mm);

/// The part of `mask` that is face-connected to any of the seed voxels.
Mask connected_to(const Mask& mask, const GridGeometry& geometry,
                  const std::vector<std::size_t>& seeds);

/// Fills whatever of the outside cannot be reached from the border of the brick.
Mask holes_filled(const Mask& mask, const GridGeometry& geometry);

}  // namespace anfract::tracing
