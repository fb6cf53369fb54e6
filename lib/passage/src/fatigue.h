#pragma once

#include "anfract/passage/passage.h"
#include "anfract/tray/device.h"

namespace anfract {

/// The arrangement that ties the strain-life law: instruments 025/.06 of plain alloy in an arc of
/// radius 5 mm through 60 degrees whose middle lies 5 mm from the tip, at room temperature. They
/// are 0.55 mm wide there, so d/(2R) is 5.5 %, and break after 300 to 800 turns (the range in which
/// most published tests of it lie; from memory, low confidence).
inline constexpr double tied_strain = 0.055;
inline constexpr double tied_turns_low = 300, tied_turns_high = 800;

/// Turns to fracture at room temperature at a surface strain amplitude eps, by eps = C N^b.
///
/// The median has b = -0.45 and passes through (tied_strain, geometric mean of the turns), which
/// makes C 0.89. The range: a factor 3 to either side for laboratories and makes, and the published
/// exponents, -0.40 to -0.56 [Cheung2007], which pull it apart on both sides of the tied strain.
/// Instruments of heat-treated alloy last 3 to 8 times as long [Shen2011]. Not more than 1e7.
CycleRange cycles_to_failure(double strain, const Device& device);

}  // namespace anfract
