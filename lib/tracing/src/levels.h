#pragma once

#include "anfract/base/result.h"
#include "field.h"

namespace anfract::tracing {

/// Grey values of the tissues round the click and what limits sight. The scale need not be
/// Hounsfield's.
struct GreyLevels {
    double pulp = 0;  ///< soft tissue in the chamber; also taken for the ligament
    double dentine = 0;
    double noise = 0;  ///< standard deviation per voxel in dentine
    double noise_cell_mm3 =
        0;  ///< volume over which the noise hangs together; a voxel's when it is white
    double sigma_psf_mm = 0;  ///< standard deviation of the point spread, voxel box included

    double contrast() const { return dentine - pulp; }
    double middle() const { return (dentine + pulp) / 2; }
};

/// Reads the levels from the voxels round the click.
///
/// Voxels of weak gradient make histograms without mixed voxels. Otsu's split [Otsu1979] of all
/// within 9 mm parts hard tissue from soft and air. Dentine, which surrounds every pulp, is the
/// greatest peak of the hard part within 3.5 mm; where a second peak below it is nearly as great,
/// that one, the other being enamel. The pulp is the darkest that is seen there; without a chamber,
/// the greatest soft peak within 9 mm. `find_pulp` measures it better. Errors: BadInput when there
/// is no hard tissue round the click.
Result<GreyLevels> read_levels(const Brick& brick, const Vec3& click_P, unsigned threads);

}  // namespace anfract::tracing
