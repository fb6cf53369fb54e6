#pragma once

#include <limits>
#include <optional>
#include <string>

#include "anfract/passage/rehearse.h"
#include "beam.h"
#include "geometry_limit.h"
#include "rod.h"

namespace anfract {

/// The limits that hold for one trial: options where given, else habits of the kind and facts of
/// the material.
struct Limits {
    double max_push_N = 0;
    double max_strain = std::numeric_limits<double>::infinity();
    double cut_allowance_mm = 0;
    double stop_room_mm = 0;
    double handle_mm = 0;  ///< distance from the tip to where the device is held
};
Limits limits_of(const Guide& guide, const Device& device, const RehearsalOptions& options);

/// How near a device at rest is to what would stop it.
struct Load {
    StoppedBy reason = StoppedBy::Strain;
    double ratio = 0;  ///< of the value to its limit; above 1: it does not go there
    double value = 0, limit = 0;
    double depth_mm = 0;  ///< of the place that decides
};

/// The worst of strain, push force, and buckling outside and inside the canal. A push beyond its
/// limit is `Stiffness` for a tool that does not cut: all of its push comes of bending. For an
/// instrument that works its way in it is `Force`.
Load worst_load(const Guide& guide, const Beam& beam, const RodState& state, const Limits& limits);

/// One sentence with the number that decided.
std::string sentence(const Load& load);
/// Of a device that is known to go to that depth and no further.
std::string sentence_of_unknown(double depth_mm);
std::string sentence(const GeometryLimit& limit, const Device& device, const Limits& limits);

}  // namespace anfract
