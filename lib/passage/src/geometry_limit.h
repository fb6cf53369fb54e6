#pragma once

#include "anfract/passage/passage.h"
#include "beam.h"
#include "guide.h"

namespace anfract {

/// How deep the shape alone lets a device go.
struct GeometryLimit {
    double depth_mm = 0;  ///< of the tip
    StoppedBy reason = StoppedBy::Foramen;
    double decided_at_mm = 0;  ///< depth of the place that decides
    double device_mm = 0;      ///< diameter of the device there
    double canal_mm = 0;       ///< diameter of the canal there
};

/// The least of: the foramen; the device's length less `stop_room_mm`; and, for every station, the
/// depth at which the device becomes wider there than the canal and `cut_allowance_mm` (on the
/// diameter). For a device that widens from its tip up these depths are exact between stations of
/// linearly varying width.
GeometryLimit geometry_limit(const Guide& guide, const Beam& beam, double cut_allowance_mm,
                             double stop_room_mm);

/// Depth ranges where the device, tip at `tip_depth_mm`, leaves less than `slack_mm` of diameter.
std::vector<std::pair<double, double>> binding_ranges(const Guide& guide, const Beam& beam,
                                                      double tip_depth_mm, double slack_mm);

}  // namespace anfract
