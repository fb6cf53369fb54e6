#pragma once

#include <optional>
#include <vector>

#include "assemble.h"
#include "section.h"
#include "site.h"

namespace anfract::tracing {

/// A section that is narrower in its middle than to either side, as where two canals run in one
/// lumen.
struct Waist {
    Vec2 greater_mm{0, 0}, lesser_mm{0, 0};  ///< the middles of either side
    double depth = 0;  ///< 1 less the width there over that of the lesser side
};

/// Looks for a waist along the section's long axis. Nothing when there is none.
/// @param long_axis_rad  from n1 toward n2
std::optional<Waist> find_waist(const SectionImage& image, const SectionSetting& setting,
                                double long_axis_rad);

/// Parts canals whose sections have a waist over a stretch into two, the lesser appended to
/// `canals` as one that runs into the other: docs/methods/tracing.md, "Two in one lumen". All must
/// be fitted again then. False when there is none.
bool part_waists(const Site& site, std::vector<TracedCanal>& canals);

}  // namespace anfract::tracing
