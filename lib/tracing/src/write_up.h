#pragma once

#include <string>
#include <vector>

#include "assemble.h"
#include "site.h"

namespace anfract::tracing {

/// The tooth of the file from its fitted canals, without surfaces and findings. `names` may name
/// the first canals; the others, or all, are named by where they lie.
Tooth write_up(const TraceRequest& request, const Site& site, const ToothBody& closed,
               const std::vector<TracedCanal>& traced, std::vector<std::string> names);

/// The solid with the mouths of its canals closed.
ToothBody closed_body(const Site& site, const std::vector<TracedCanal>& traced);

/// Adds what the reader must know, and doubts canals that may be second images:
/// docs/methods/tracing.md, "Depth, names, findings".
void add_findings(const TraceRequest& request, const Site& site,
                  const std::vector<TracedCanal>& traced, Tooth& tooth);

/// The surfaces of tooth and chamber, for display.
Surface tooth_surface(const ToothBody& closed, unsigned threads);
Surface chamber_surface(const Site& site, unsigned threads);

}  // namespace anfract::tracing
