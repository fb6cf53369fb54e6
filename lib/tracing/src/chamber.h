#pragma once

#include <vector>

#include "anfract/base/result.h"
#include "levels.h"
#include "tooth_mask.h"

namespace anfract::tracing {

/// The pulp as far as it is wide enough to be seen as dark voxels.
struct PulpSpace {
    Mask low;                            ///< dark voxels inside the tooth
    std::vector<float> low_distance_mm;  ///< distance of each voxel to `low`, at most 1
    Mask chamber;                        ///< the wide part round the click: where canals begin
    double chamber_radius_mm = 0;  ///< of the largest ball in it; 0 when no chamber is to be seen
    double pulp_grey = 0;          ///< measured where the point spread does not reach dentine
};

/// Finds the dark space nearest to the click inside the tooth and cuts off the canals: the chamber
/// is what a ball of 0.7 times the radius of the largest one reaches, up to 0.8 times while that is
/// below 0.5 mm (morphological opening [Serra1982]). A tooth whose chamber is closed by hard tissue
/// gives an empty chamber; that is no error.
PulpSpace find_pulp(const Brick& brick, const ToothBody& body, const GreyLevels& levels,
                    const Vec3& click_P, unsigned threads);

}  // namespace anfract::tracing
