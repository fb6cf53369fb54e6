#pragma once

#include <vector>

#include "anfract/shaping/order.h"
#include "anfract/tray/device.h"

namespace anfract {

/// The instruments a search tries, and those it does not even try.
struct Shortlist {
    std::vector<const Device*> devices;    ///< sorted by tip, taper, kind, id
    std::vector<UnusedInstrument> unused;  ///< in the order of the tray
};

/// The cutting devices of a tray that are in stock and long enough to reach `depth_mm` with
/// `stop_room_mm` above the reference point: of those that differ in length alone the shortest.
/// Where more than `most` differ, sizes that differ least stand for one another.
Shortlist cutting_candidates(const Tray& tray, double depth_mm, double stop_room_mm,
                             std::size_t most = 120);

}  // namespace anfract
