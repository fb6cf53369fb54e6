#pragma once

#include <optional>
#include <string>
#include <vector>

#include "anfract/base/result.h"
#include "anfract/tooth/bends.h"
#include "anfract/tooth/canal_separation.h"
#include "anfract/tooth/canal_system.h"
#include "anfract/tooth/clinical_frame.h"
#include "anfract/tooth/tooth.h"
#include "anfract/tooth/view_measures.h"

namespace anfract {

/// Width of a canal at one place.
struct WidthAt {
    std::string place;  ///< "orifice" or "1 mm", "2 mm", "5 mm" from the foramen
    double depth_mm = 0;
    double diameter_mm = 0;  ///< of the circle of equal area
    double diameter_sd_mm = 0;
    double diameter_short_mm = 0, diameter_long_mm = 0;
};

/// The thinnest dentine beside a canal.
struct ThinnestWall {
    double wall_mm = 0;
    double depth_mm = 0;
    Vec3 toward_P{0, 0, 0};  ///< zero when the file does not say
};

/// How a canal bends, sample by sample.
struct CurveProfile {
    std::vector<double> depth_mm, curvature_per_mm, curvature_sd_per_mm, torsion_per_mm;
};

/// All figures of one canal.
struct CanalMeasures {
    std::string canal;
    double length_mm = 0, depth_to_foramen_mm = 0;
    std::optional<double> depth_sd_mm;

    ViewMeasures clinical;  ///< seen from buccal, as on a radiograph
    ViewMeasures across;    ///< seen from mesial, at right angles to it
    ViewMeasures worst;  ///< seen from where the Schneider angle is largest, round the tooth axis
    ViewMeasures space;  ///< not projected
    double worst_turn_deg = 0;        ///< of the worst view, from buccal toward mesial, in [0, 180)
    double hidden_schneider_deg = 0;  ///< worst minus clinical, never negative
    double hidden_curvature_deg = 0;  ///< total curvature in space minus in the clinical view

    std::vector<Bend> bends;  ///< their places are depths, not arc lengths
    bool s_shaped = false;
    double least_radius_mm = 0;  ///< infinity for a canal without curvature
    double least_radius_depth_mm = 0;
    double torsion_deg = 0;  ///< integral of torsion over the curved parts, right-handed positive
    CurveProfile profile;

    std::vector<WidthAt> widths;  ///< places above the orifice are left out
    std::optional<ThinnestWall> thinnest_wall;
};

/// All figures of a tooth.
struct ToothMeasures {
    std::string fdi;
    ClinicalFrame frame;
    std::vector<CanalMeasures> canals;
    std::vector<Root> roots;
    CanalCode code;
    std::optional<SeparationViews> separation;  ///< of a tooth with two canals or more
};

struct MeasureOptions {
    /// The wall thins out to nothing at the foramen itself, which is no finding.
    double wall_to_foramen_mm = 2.0;
    double s_shape_deg = 10.0;  ///< both bends of an S turn by at least this
    BendOptions bends;
};

/// The direction in which the canals enter the roots: the mean of their coronal straight parts. A
/// unit vector.
/// @pre at least one canal of at least two samples
Vec3 tooth_axis(const Tooth& tooth);

/// Measures one canal. @pre at least two samples, as reading a file guarantees
CanalMeasures measure(const Canal& canal, const ClinicalFrame& frame,
                      const MeasureOptions& options = {});

/// Measures every canal and names the canal systems. NotFound when the tooth has no canals.
Result<ToothMeasures> measure(const Tooth& tooth, const MeasureOptions& options = {});

/// Bounds of [Schneider1971]: "straight" to 5, "moderate" 10 to 20, "severe" from 25 degrees on.
/// The gaps are in the original and are named by both neighbours, as in "straight to moderate".
std::string schneider_class(double schneider_deg);

}  // namespace anfract
