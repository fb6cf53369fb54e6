#pragma once

#include <vector>

#include "anfract/geometry/polyline.h"
#include "anfract/geometry/vec.h"

namespace anfract {

/// Direction and bending of a space curve at one of its points.
struct CurvePoint {
    Vec3 tangent;           ///< unit vector toward rising arc length
    Vec3 curvature_per_mm;  ///< dT/ds: points to the centre of curvature, length = curvature
    double torsion_per_mm =
        0;  ///< right-handed positive; 0 where the curve is too straight to have one

    /// Standard deviation of each component of the curvature vector, from how far the points
    /// scatter about the fits. Errors that neighbouring points share do not show in it.
    double curvature_sd_per_mm = 0;

    double curvature() const { return curvature_per_mm.norm(); }
};

/// How far the local fit looks to either side.
struct CurveFit {
    double half_window_mm = 0.75;  ///< wider: less noise, more smoothing of short bends
    int least_neighbours = 3;      ///< points to a side that are taken in any case
    /// Below this curvature torsion is not defined and reported as 0.
    double straight_per_mm = 1e-4;
    /// Where curvature at an end of the chain would be less certain, a simpler curve is fitted.
    double end_sd_per_mm = 0.01;
};

/// Derivatives at every point of the chain from a weighted least-squares cubic in arc length
/// through the points within `half_window_mm`, r(s) = a + b s + c s^2 + d s^3 with tricube weights
/// [Cleveland1979]: T = r'/|r'|, curvature vector = (r'' - (r''.T) T)/|r'|^2 and
/// torsion = (r' x r'').r''' / |r' x r''|^2.
///
/// Near an end of the chain the window is one-sided; where a cubic would turn scatter into too much
/// curvature there, a quadratic is fitted over twice the length, without torsion.
/// With a window of a fixed number of points the error falls with the square of the spacing (test
/// CurveDerivatives.ConvergeWithTheSquareOfTheSpacing). A chain of two points is straight.
/// @pre at least two points
std::vector<CurvePoint> curve_derivatives(const Polyline& chain, const CurveFit& fit = {});

/// Root mean square distance (mm, per coordinate) of the points from the local cubics across the
/// curve: the median over the chain. Errors that neighbouring points share do not show in it.
/// @pre at least two points
double scatter_mm(const Polyline& chain, const CurveFit& fit = {});

/// Every point moved onto the cubic fitted about it. As many points as before, unless two fall on
/// one place. @pre at least two points
Polyline smoothed(const Polyline& chain, const CurveFit& fit = {});

/// Total curvature in radians: the integral of curvature over arc length by the trapezium rule.
///
/// Scatter of the points makes a length of curvature that is not there; what it adds on average is
/// taken off, k^2 - 2 sd^2, before the root is drawn.
double total_curvature_rad(const Polyline& chain, const std::vector<CurvePoint>& derivatives);

}  // namespace anfract
