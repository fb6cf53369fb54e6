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

BucklingLoad buckling_load(const Guide& guide, const Beam& beam, const RodState& state,
                           double handle_mm);

}  // namespace anfract
