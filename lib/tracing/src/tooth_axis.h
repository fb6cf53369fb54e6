#pragma once

#include <optional>
#include <string>

#include "chamber.h"
#include "levels.h"
#include "tooth_mask.h"

namespace anfract::tracing {

/// Unit vector along the tooth from the roots to the crown, in P.
///
/// The axis is that of the least inertia of the solid; its sign is toward the enamel, and, where
/// hardly any is seen, upward for a lower and downward for an upper tooth of an upright patient.
/// Without a number either it is toward the side of the click.
Vec3 coronal_axis(const Brick& brick, const ToothBody& body, const GreyLevels& levels,
                  const std::string& fdi, const Vec3& click_P);

/// Where canals may run: apical of the middle of the chamber (of the click, when no chamber is
/// seen).
Mask apical_part(const GridGeometry& geometry, const PulpSpace& pulp, const Vec3& coronal_P,
                 const Vec3& click_P);

}  // namespace anfract::tracing
