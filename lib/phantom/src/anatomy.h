#pragma once

#include <array>
#include <string>
#include <vector>

#include "anfract/phantom/tooth_design.h"

namespace anfract {

/// How often a root has each canal system, types I to VIII in order; need not sum to 1.
using SystemWeights = std::array<double, 8>;

/// Medians of the diameters at 1, 2 and 5 mm from the apex, and at the orifice.
struct CanalWidths {
    WidthDesign at_1, at_2, at_5, orifice;
};

/// A root as the distributions of its tooth have it.
struct RootAnatomy {
    std::string label;          ///< MB, DB, P, M, D; empty for the only root
    std::string first, second;  ///< names of its canals when it has two
    SystemWeights systems{};
    CanalWidths single;  ///< one canal
    CanalWidths first_of_two;
    CanalWidths second_of_two;
    double foramen_offset_mm = 0.6;  ///< mean
    double bend_toward_deg = 180;    ///< azimuth that the main bend favours
};

/// A tooth of the permanent dentition.
struct ToothAnatomy {
    double length_mm = 22, length_sd_mm = 1.3;
    double crown_mm = 9;    ///< cusp or edge to cemento-enamel junction
    double half_md_mm = 4;  ///< of the crown
    double half_bl_mm = 4;
    std::vector<RootAnatomy> roots;
};

/// @pre 1 <= place <= 8
const ToothAnatomy& anatomy_of(bool upper, int place);

}  // namespace anfract
