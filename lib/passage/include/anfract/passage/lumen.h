#pragma once

#include <Eigen/Core>
#include <string>
#include <vector>

#include "anfract/base/result.h"
#include "anfract/geometry/vec.h"
#include "anfract/tooth/tooth.h"

namespace anfract {

/// The curved passage a device moves along: one canal with its sheet over depth and direction.
///
/// Row i of the arrays is the station at depth_mm[i]; column j is direction theta_j = 2 pi j /
/// theta_count from n1 toward n2. Stations are evenly spaced from the orifice to the foramen. (n1,
/// n2, tangent) is a right-handed rotation-minimising frame, tangent pointing apically.
struct Lumen {
    std::string canal;
    double reference_to_orifice_mm = 0;  ///< length of the straight part above the first station
    std::vector<double> depth_mm;
    std::vector<Vec3> point_P, tangent_P, n1_P, n2_P;
    Eigen::ArrayXXd radius_mm;  ///< R(s, theta): centreline to canal wall
    Eigen::ArrayXXd
        wall_mm;  ///< W(s, theta): dentine outward from the canal wall; NaN where not known

    int station_count() const { return static_cast<int>(depth_mm.size()); }
    int theta_count() const { return static_cast<int>(radius_mm.cols()); }
    double spacing_mm() const { return depth_mm.size() < 2 ? 0.0 : depth_mm[1] - depth_mm[0]; }
};

/// Resamples a canal (smooth curve through its points, elliptical sections) to stations about
/// `spacing_mm` apart. Errors: BadInput when the canal has fewer than two samples or no length.
Result<Lumen> lumen_of(const Canal& canal, double spacing_mm = 0.1, int theta_count = 24);

/// Complains of a lumen in which nothing can be moved: BadInput when it has no extent, or no width
/// somewhere (0.1 um; then it names the depth).
Result<void> check_lumen(const Lumen& lumen);

}  // namespace anfract
