#pragma once

#include <vector>

#include "canal_fit.h"

namespace anfract::tracing {

/// The nearest section of each other canal to a place, as far as it is within reach of a section.
std::vector<FittedSection> near_sections(const std::vector<std::vector<FittedSection>>& others,
                                         const Vec3& point_P);

/// Share, 0 to 1, of what is missing at a point that is the own canal's: the responsibility of a
/// round blurred tube among those of the others.
double share_beside(const Vec3& point_P, const Vec3& own_P, double own_width_mm,
                    const std::vector<FittedSection>& others, double sigma_psf_mm);

/// Standard deviation of a centre beside those of others, in mm, beyond its noise: where the lumens
/// all but touch, or have run into one another, whose is what hangs on where the lines are thought
/// to be. 0 where they stand clear.
double crowd_sd_mm(const Vec3& own_P, double own_width_mm,
                   const std::vector<FittedSection>& others);

}  // namespace anfract::tracing
