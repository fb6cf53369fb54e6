#pragma once

#include "anfract/tray/device.h"
#include "anfract/tray/material.h"

namespace anfract {

/// Bending stiffness E I (N mm^2) at `x_mm` from the tip, at small strain, from material and
/// section:
///     E * inertia_ratio * pi / 64 * (d^4 - bore^4).
/// The bore of a tube is taken as the same all along, but never more than 95 % of the outside.
double computed_stiffness_Nmm2(const Device& device, double x_mm);

/// How the device's sections soften; a tube with the bore ratio of its middle.
MomentLaw moment_law_of(const Device& device);

/// Moment (mN m) at the clamp in the bending test of [ISO3630-1], from the computed stiffness.
///
/// The model: the tip is clamped at 3 mm; a pin pushes the instrument across at the end of the
/// working part (lever l above the clamp; at most 13 mm and at least half of what is outside the
/// clamp), until the chord from clamp to pin stands at 45 degrees to the clamp. With M(xi) = M0 (1
/// - xi/l) and the curvature kappa(M) of the material law,
///     pi/4 = integral from 0 to l of kappa(M(xi)) (1 - xi/l) dxi,
/// which is the geometry of small turns carried to 45 degrees; a linear law gives
/// M0 = (pi/4) / integral of (1 - xi/l)^2 / EI.
double bending_test_moment_mNm(const Device& device);

/// What all computed moments are multiplied with so that the device gives its measured
/// `bending_moment_45deg_mNm` in that test; 1 when none was measured.
double bending_test_scale(const Device& device);

}  // namespace anfract
