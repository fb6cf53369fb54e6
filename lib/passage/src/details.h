#pragma once

#include <optional>

#include "anfract/passage/passage.h"
#include "beam.h"
#include "load_limits.h"
#include "rod.h"

namespace anfract {

/// How the tip of a device at rest meets the wall.
TipContact tip_contact(const Guide& guide, const Beam& beam, const RodState& state);

/// How far to bend a section (1/mm) so that it springs back to `kept_per_mm`: kappa - M(kappa)/EI
/// is what it keeps, unloading being elastic. Infinity where no bend of up to 12 % strain keeps so
/// much.
double bend_that_keeps(const Beam& beam, double kept_per_mm, double radius_mm);

/// None unless a steel hand file is bent beyond its elastic limit.
std::optional<PreBend> pre_bend(const Beam& beam, const RodState& state);

/// Where the shape stops the device if it is thicker or thinner by its tolerance; none without one.
std::optional<FitBand> fit_band(const Guide& guide, const Device& device, const Limits& limits,
                                const GeometryLimit& nominal);

/// The device made thicker all along; thinner below 0, but never nothing.
Device thicker(const Device& device, double by_mm);

/// Pull that draws a cone out that was seated with `seated_with_N`.
///
/// What the push has left when the cone is bent and rubs, F - P, wedges it where it fills the
/// canal: a taper of half angle a is held by N = (F - P)/(sin a + mu cos a), and drawn out against
/// N (mu cos a - sin a) (a taper lock, closed form). Rubbing round a bend takes exp(-mu theta) of
/// that push and asks exp(mu theta) of that pull [Euler1769], which cancel. The bent part rubs on
/// the way out as on the way in, and its bending drives it out: P - 2 W, W being the push without
/// friction.
/// @param wedged_at_mm  depth where it fills the canal; none: it lies there without being wedged
TugBack tug_back(const Beam& beam, const RodState& state, std::optional<double> wedged_at_mm,
                 double friction, double seated_with_N);

BucklingLoad buckling_load(const Guide& guide, const Beam& beam, const RodState& state,
                           double handle_mm);

}  // namespace anfract
