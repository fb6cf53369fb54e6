#pragma once

#include <vector>

#include "site.h"

namespace anfract::tracing {

/// Says where to look for the canals that are possible but not sure: from the nearest orifice of a
/// canal that was found, how deep, and what is left of the floor. One that a canal of the tooth
/// runs along by now (a canal by hand) is left out. @pre the tooth has a canal
void add_possible(const Site& site, const std::vector<CanalPath>& paths, Tooth& tooth);

}  // namespace anfract::tracing
