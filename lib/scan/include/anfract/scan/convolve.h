#pragma once

#include <array>
#include <vector>

#include "anfract/scan/volume.h"

namespace anfract {

/// The brick convolved along each voxel axis with an odd number of weights about their middle, the
/// border voxels repeated outward. The same for any number of threads.
Brick convolved(const Brick& brick, const std::array<std::vector<float>, 3>& weights,
                unsigned threads);

}  // namespace anfract
