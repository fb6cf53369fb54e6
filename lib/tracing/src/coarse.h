#pragma once

#include <algorithm>
#include <array>

#include "field.h"

namespace anfract::tracing {

/// How many voxels are taken together along each axis.
using Coarse = std::array<int, 3>;

/// Those that make voxels of some 0.25 mm, in which what is millimetres thick is seen as well.
Coarse coarse_steps(const GridGeometry& fine);

/// Voxels of `fine` taken together.
GridGeometry coarser(const GridGeometry& fine, const Coarse& step);

/// Calls `visit(n, m)` for each voxel n of the fine grid and the voxel m of the coarse one round
/// it.
template <class Visit>
void for_both(const GridGeometry& fine, const GridGeometry& coarse, const Coarse& step,
              const Visit& visit) {
    std::size_t n = 0;
    for (int k = 0; k < fine.size[2]; ++k) {
        for (int j = 0; j < fine.size[1]; ++j) {
            std::size_t m = coarse.index(0, j / step[1], k / step[2]);
            for (int from = 0; from < fine.size[0]; from += step[0], ++m) {
                const int to = std::min(from + step[0], fine.size[0]);
                for (int i = from; i < to; ++i) visit(n++, m);
            }
        }
    }
}

/// Coarse voxels half of which or more are in the mask.
Mask coarsened(const Mask& mask, const GridGeometry& fine, const GridGeometry& coarse,
               const Coarse& step);

}  // namespace anfract::tracing
