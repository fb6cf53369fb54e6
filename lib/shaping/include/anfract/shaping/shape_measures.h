#pragma once

#include <optional>
#include <vector>

#include "anfract/passage/lumen.h"

namespace anfract {

/// Shift and centring of a preparation between two opposite walls.
struct Centring {
    double transport_mm = 0;  ///< signed: positive when more was taken on the first side
    std::optional<double>
        ratio;  ///< smaller over larger removal, 1 is perfect; none when nothing was taken
    bool wall_grew = false;  ///< a wall is thicker after than before: the measurement is wrong
};

/// Transport (A1 - A2) - (B1 - B2) and centring ratio [GambillEtAl1996].
///
/// @param a_before_mm, a_after_mm  shortest distance from canal to root surface on the first side
/// @param b_before_mm, b_after_mm  the same on the opposite side
/// The ratio 0/0 of a canal that was not touched is not a number; it is returned as none.
Centring gambill(double a_before_mm, double a_after_mm, double b_before_mm, double b_after_mm);

/// A value and the depth where it is found.
struct AtDepth {
    double value = 0;
    double depth_mm = 0;
};

/// Largest transport over all depths and pairs of opposite directions, unsigned.
/// @pre `before` and `after` have the same stations and an even number of directions
AtDepth largest_transport_mm(const Lumen& before, const Lumen& after, double from_depth_mm = 0);

/// Centring ratio [GambillEtAl1996] at the station nearest to `depth_mm`, between the pair of
/// opposite directions with the largest transport; none when nothing was taken there.
/// @pre as for largest_transport_mm
std::optional<double> centring_at(const Lumen& before, const Lumen& after, double depth_mm);

/// The middles of the sections, orifice first, P: the axis of a canal that was cut to one side.
std::vector<Vec3> axis_P(const Lumen& lumen);

/// Where on the sheet the wall is thinnest.
struct ThinnestPlace {
    double wall_mm = 0;
    double depth_mm = 0;
    Vec3 toward_P{0, 0, 0};  ///< unit vector from the centreline
};

/// As thinnest_touched_wall_mm, with the direction.
std::optional<ThinnestPlace> thinnest_touched_place(const Lumen& before, const Lumen& after,
                                                    double to_depth_mm);

/// A depth below every canal.
constexpr double no_depth_limit_mm = 1e9;

/// Thinnest wall down to `to_depth_mm`; none when no wall is known there. A root ends at its
/// foramen, so that the wall thins out to nothing in the last millimetres, which is no finding.
std::optional<AtDepth> thinnest_wall_mm(const Lumen& lumen, double to_depth_mm = no_depth_limit_mm);

/// Thinnest wall among the places where dentine was taken; none when nothing was, or no wall is
/// known there.
std::optional<AtDepth> thinnest_touched_wall_mm(const Lumen& before, const Lumen& after,
                                                double to_depth_mm = no_depth_limit_mm);

/// Area (mm^2) of the section at a station: (1/2) integral R^2 dtheta.
double section_area_mm2(const Lumen& lumen, int station);

/// Diameter (mm) of the circle of equal area at `depth_mm`, interpolated and clamped to the canal's
/// ends.
double diameter_mm_at(const Lumen& lumen, double depth_mm);

/// Volume (mm^3) of the canal: trapezoid rule over the stations, sections taken normal to the
/// centreline.
double volume_mm3(const Lumen& lumen);

/// Share of the canal's wall down to `to_depth_mm` that was not touched, by area, in [0, 1].
double untouched_share(const Lumen& before, const Lumen& after, double to_depth_mm);

}  // namespace anfract
