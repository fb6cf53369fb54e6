#pragma once

#include <optional>
#include <string>

#include "anfract/base/result.h"
#include "anfract/geometry/vec.h"
#include "anfract/scan/volume.h"

namespace anfract::server {

/// Which part of a scan, and how coarse.
struct BrickWish {
    std::optional<Vec3> centre_P;  ///< none: the whole scan
    Vec3 half_mm{0, 0, 0};
    int step = 1;  ///< one voxel for each step^3 block, its mean
};

/// Grey values as they travel to the page.
struct BrickBytes {
    GridGeometry geometry;
    std::string
        int16;  ///< little-endian, i fastest; rounded, and held within the range of the type
};

/// Cuts a part out of a scan as crop() does, and averages over blocks of step^3 voxels. Blocks that
/// the border cuts are left out, unless there would be nothing left along that axis. Errors:
/// BadInput when the box lies outside the scan, or step is not in 1..64.
Result<BrickBytes> cut_brick(const Volume& volume, const BrickWish& wish);

}  // namespace anfract::server
