#pragma once

#include <vector>

#include "assemble.h"
#include "site.h"

namespace anfract::tracing {

/// The three steps of `trace`, with its errors.
Result<Site> prepare(const Volume& volume, const TraceRequest& request, const Progress& progress);

/// Fits what the search found, and canals by hand. `possible` gets the rest.
Result<std::vector<TracedCanal>> canals_of(const Site& site, const TraceRequest& request,
                                           const Progress& progress,
                                           std::vector<CanalPath>& possible);

Tooth whole_tooth(const Site& site, const TraceRequest& request,
                  const std::vector<TracedCanal>& canals, const std::vector<CanalPath>& possible,
                  const Progress& progress);

}  // namespace anfract::tracing
