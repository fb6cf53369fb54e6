#pragma once

#include "assemble.h"
#include "site.h"

namespace anfract::tracing {

/// Chance that a canal is there, from the evidence gathered along it; calibrated on phantoms, see
/// the method page.
double presence_of(const CanalPath& path);

/// Adds a canal between two points; one that was found there anyway gets the user's ends. Returns
/// its position. Errors: BadInput when a point lies outside the tooth.
Result<std::size_t> add_by_hand(const HandCanal& hand, const Site& site, const Progress& progress,
                                std::vector<TracedCanal>& traced);

}  // namespace anfract::tracing
