#pragma once

#include <vector>

#include "anfract/tray/device.h"

namespace anfract {

/// The cutting devices of a tray that are in stock and long enough to reach `depth_mm` with
/// `stop_room_mm` above the reference point: of each kind, tip, taper and material the shortest.
/// Sorted by tip, taper, kind, id.
std::vector<const Device*> cutting_candidates(const Tray& tray, double depth_mm,
                                              double stop_room_mm);

}  // namespace anfract
