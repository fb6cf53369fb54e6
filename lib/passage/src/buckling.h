#pragma once

#include "beam.h"
#include "rod.h"

namespace anfract {

/// Axial force (N) at which the part of a beam between two places, measured from the tip, buckles
/// when both its ends are held in line but may turn: the least P with (w'' + P w / EI = 0, w = 0 at
/// both ends), by inverse iteration on finite differences; pi^2 EI / L^2 where the beam is uniform
/// [Euler1744]. A handle guided in line that may shift sideways has the same load. Infinity for an
/// empty interval.
double buckling_force_N(const Beam& beam, double from_mm, double to_mm);

/// What is nearest to buckling inside the canal: the compression at a node over the force that
/// buckles there.
struct InnerBuckling {
    double ratio = 0;  ///< above 1: buckles
    double depth_mm = 0;
    double force_N = 0;  ///< that buckles
};

/// Stretches between contacts buckle as columns; where the device lies on the outer wall of a curve
/// it is held down by its own compression and buckles at 4 EI kappa / clearance
/// [HeKyllingstad1995].
InnerBuckling inner_buckling(const Guide& guide, const Beam& beam, const RodState& state);

}  // namespace anfract
