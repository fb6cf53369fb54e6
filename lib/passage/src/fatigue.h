#pragma once

#include "anfract/passage/passage.h"
#include "anfract/tray/device.h"

namespace anfract {

/// Turns to fracture at a surface strain amplitude, eps = C N^b with b = -0.45 and C such that 3 %
/// lasts 300 turns. A placeholder: published exponents run from -0.40 to -0.56 [Cheung2007], and
/// results of different laboratories differ by far more, so `low` and `high` lie a factor 3 below
/// and above. Instruments of heat-treated alloy last 3 to 8 times as long [Shen2011]. Not more than
/// 1e7.
CycleRange cycles_to_failure(double strain, const Device& device);

}  // namespace anfract
