#pragma once

#include <string>
#include <vector>

#include "anfract/phantom/phantom.h"
#include "anfract/tooth/tooth.h"

namespace anfract::truth {

/// How far one canal was traced from the true one.
struct CanalError {
    std::string name;         ///< of the true canal
    std::string traced_name;  ///< empty when it was not found
    double least_width_mm =
        0;  ///< least true diameter of equal area from the orifice to 1 mm above the foramen
    double presence = 0;
    double line_rms_mm = 0;  ///< distance of true centreline points from the traced line
    double line_max_mm = 0;
    double foramen_mm = 0;  ///< distance of the two foramina
    double depth_mm = 0;    ///< traced minus true depth to the foramen
    double width_rms = 0;   ///< relative error of the diameter of equal area
    double width_mean = 0;
    double width_z_rms = 0;  ///< the same error over the standard deviation the tracing states
    double wall_rms_mm = 0;  ///< of the thinnest wall
    double false_bend_per_mm =
        0;  ///< greatest excess of the traced curvature in the first 2 mm over that of the truth
    bool found() const { return !traced_name.empty(); }
};

struct ToothError {
    std::vector<CanalError> canals;
    std::vector<std::string> invented;  ///< traced canals that are near no true one
    double surface_rms_mm =
        0;  ///< of the surface's vertices from the true surface, roots and crown
};

/// Compares a traced tooth with the phantom it was traced in.
ToothError compare(const Tooth& traced, const Phantom& phantom);

}  // namespace anfract::truth
