#pragma once

#include <vector>

#include "assemble.h"
#include "site.h"

namespace anfract::tracing {

/// Fits every canal from its path, each with what the others explain taken out; those that run
/// beside another twice.
void fit_all(const Site& site, std::vector<TracedCanal>& canals);

/// Fits one canal again along a line, the others being as they are. What the user fixed holds.
void refit(const Site& site, std::vector<TracedCanal>& canals, std::size_t which, Polyline line);

/// Fits a canal again within 2.5 mm of the place `s_mm` of a line that it is to follow there; the
/// rest stays as it was.
void refit_near(const Site& site, std::vector<TracedCanal>& canals, std::size_t which,
                const Polyline& line, double s_mm);

}  // namespace anfract::tracing
