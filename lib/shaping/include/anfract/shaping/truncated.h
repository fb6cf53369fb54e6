#pragma once

#include "anfract/passage/lumen.h"

namespace anfract {

/// How many stations there are down to the one nearest to `depth_mm`, at least two.
int stations_down_to(const Lumen& lumen, double depth_mm);

/// The canal down to the station nearest to `depth_mm`, at least two stations.
Lumen down_to(const Lumen& lumen, double depth_mm);

}  // namespace anfract
