#pragma once

#include "anfract/geometry/polyline.h"
#include "anfract/tooth/tooth.h"

namespace anfract {

/// The line through a canal's samples, as they are. @pre it has two at least
Polyline sampled_line(const Canal& canal);

}  // namespace anfract
