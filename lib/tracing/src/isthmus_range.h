#pragma once

#include <vector>

#include "assemble.h"
#include "site.h"

namespace anfract::tracing {

/// A sheet of pulp between two canals of one root, as far as it is seen.
struct IsthmusRange {
    std::size_t first = 0, second = 0;    ///< canals
    Vec3 from_P{0, 0, 0}, to_P{0, 0, 0};  ///< on the first one's centreline, from the orifice on
    double thickness_mm = 0;              ///< mean of the sections, where it is least in each
};

/// Looks from every section of a canal toward the others beside it. A sheet counts when it stands
/// out of the noise over 0.8 mm or more: docs/methods/tracing.md, "Isthmuses".
std::vector<IsthmusRange> isthmus_ranges(const Site& site, const std::vector<TracedCanal>& canals);

}  // namespace anfract::tracing
