#pragma once

#include <optional>
#include <vector>

#include "anfract/geometry/polyline.h"
#include "anfract/geometry/vec.h"

namespace anfract {

/// Standard deviations of a bend's figures, from those of the centreline.
struct BendDeviations {
    double angle_deg = 0, radius_mm = 0, least_radius_mm = 0;
};

/// One bend of a canal in space.
struct Bend {
    double from_mm = 0, to_mm = 0;  ///< arc length from the orifice where it begins and ends
    double angle_deg = 0;           ///< by which the canal turns
    double radius_mm = 0;           ///< mean: length over angle
    double least_radius_mm = 0;     ///< where it is sharpest
    double sharpest_mm = 0;         ///< and where that is
    Vec3 toward_P{0, 0, 0};         ///< unit vector to the inside of the bend, at its sharpest
    Vec3 plane_normal_P{0, 0, 0};   ///< unit normal of the plane it lies in
    double sense_rad = 0;           ///< direction of the bend in the twist-free frame of the canal
    std::optional<BendDeviations> sd;  ///< where the file says how sure the centreline is
};

/// When a curve counts as a bend.
struct BendOptions {
    double half_window_mm = 1.0;    ///< of the curvature estimate
    double straight_per_mm = 0.02;  ///< below this curvature (radius 50 mm) a canal is straight
    double least_angle_deg = 5.0;   ///< smaller turns are left out: "straight" in [Schneider1971]
    /// A bend lifts the canal by at least this from the chord over it and 0.75 mm to either side:
    /// less cannot be told from errors of the centreline.
    double least_lift_mm = 0.06;
    double other_direction_deg = 75.0;  ///< a turn of the plane by this much begins another bend
};

/// The bends of a centreline from the orifice on.
///
/// A run of curvature is cut where its direction, seen in a twist-free frame, turns away or where
/// curvature falls below half of both neighbouring peaks; pieces that turn to the same side with
/// less than `half_window_mm` between them are one bend all the same. A bend begins and ends at
/// half its usual curvature, which for an arc between straight parts is where the arc begins and
/// ends.
/// @pre at least two points
std::vector<Bend> bends_of(const Polyline& centreline, const BendOptions& options = {});

/// True when two successive bends of at least `least_angle_deg` turn to opposite sides (by more
/// than 120 degrees as seen along the canal).
bool is_s_shaped(const std::vector<Bend>& bends, double least_angle_deg = 10.0);

}  // namespace anfract
