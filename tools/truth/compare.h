#pragma once

#include <string>
#include <vector>

#include "anfract/phantom/phantom.h"
#include "anfract/tooth/tooth.h"

namespace anfract::truth {

/// A canal whose presence is at least this counts as stated; one below is only "possible".
inline constexpr double stated_from = 0.5;

/// A true width beside the traced one at the same place, and the standard deviation stated for it.
struct WidthPair {
    double true_mm = 0, traced_mm = 0, sd_mm = 0;
};

/// A figure of the true canal beside that of the traced one, and the standard deviation stated for
/// it.
struct FigurePair {
    double true_value = 0, traced = 0, sd = 0;
};

/// Figures of a canal's curve: angles in the clinical, the cross and the worst view in degrees,
/// radii of the arc there in mm where both have one, and those of every traced bend. A bend that
/// the truth does not have turns by 0.
struct CurveFigures {
    std::vector<FigurePair> schneider_deg, arc_radius_mm, bend_deg, bend_radius_mm;
};

/// How far one canal was traced from the true one.
struct CanalError {
    std::string name;         ///< of the true canal
    std::string traced_name;  ///< empty when it was not found
    double least_width_mm =
        0;  ///< least true diameter of equal area from the orifice to 1 mm above the foramen
    double presence = 0;
    /// Distance of true centreline points from the traced line, from where that begins.
    double line_rms_mm = 0;
    double line_max_mm = 0;
    double orifice_mm = 0;   ///< distance of the two orifices; in a funnel they are a convention
    bool cut = false;        ///< the foramen lies outside the scan
    double foramen_mm = 0;   ///< distance of the two foramina
    double depth_mm = 0;     ///< traced minus true depth to the foramen
    double depth_sd_mm = 0;  ///< stated for it; 0 when none is
    double width_rms = 0;    ///< relative error of the diameter of equal area
    double width_mean = 0;
    double width_z_rms = 0;  ///< the same error over the standard deviation the tracing states
    double wall_rms_mm = 0;  ///< of the thinnest wall
    double false_bend_per_mm =
        0;  ///< greatest excess of the traced curvature in the first 2 mm over that of the truth
    std::vector<WidthPair> widths;  ///< about every half millimetre
    CurveFigures curve;
    bool found() const { return !traced_name.empty(); }
};

/// A traced canal that is near no true one.
struct InventedCanal {
    std::string name;
    double presence = 1;
    std::size_t root = 0;  ///< the root it lies in, as an index into `ToothError::roots`
};

/// A root of the true tooth.
struct RootCount {
    std::string label;
    int canals = 0;
};

struct ToothError {
    std::vector<CanalError> canals;
    std::vector<InventedCanal> invented;
    std::vector<RootCount> roots;
    double surface_rms_mm =
        0;  ///< of the surface's vertices from the true surface, roots and crown
    /// Share of the surface's vertices that are more than `far_mm` from the true surface.
    double surface_far_share = 0;
    static constexpr double far_mm = 0.5;
    /// Bone or a neighbour is taken for tooth, or a part of the tooth for something else.
    bool surface_leaks() const { return surface_far_share > 0.01; }
};

/// Fills the figures of the curves of canals that were found; those whose foramen is cut are left
/// out.
void compare_curves(const Tooth& traced, const Tooth& truth, std::vector<CanalError>& canals);

/// Compares a traced tooth with the phantom it was traced in.
ToothError compare(const Tooth& traced, const Phantom& phantom);

}  // namespace anfract::truth
