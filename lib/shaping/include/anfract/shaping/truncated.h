#pragma once

#include "anfract/passage/lumen.h"

namespace anfract {

/// The canal down to the station nearest to `depth_mm`, at least two stations.
Lumen down_to(const Lumen& lumen, double depth_mm);

}  // namespace anfract
