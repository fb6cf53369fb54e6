#pragma once

#include <functional>
#include <limits>
#include <optional>

#include "load_limits.h"
#include "rod.h"

namespace anfract {

/// A device at rest, and how near that is to what would stop it.
struct Held {
    RodState state;
    Load load;
};

/// What was found with the tip at one depth.
struct Probe {
    double depth_mm = 0;
    double ratio = 0;   ///< of the worst load to its limit; above 1: it does not go there
    bool known = true;  ///< false: no equilibrium was found, and `ratio` is infinite
    bool fine = false;  ///< with all nodes
    std::optional<Held> held = {};  ///< converged; none at the orifice and where nothing is known

    /// Of a depth at which no equilibrium was found.
    static Probe unknown(double depth_mm) {
        return {depth_mm, std::numeric_limits<double>::infinity(), false, true, {}};
    }
    bool passes() const { return ratio <= 1; }
};

/// How a device is tried at one depth.
struct Trier {
    /// With few nodes where that is clear enough; `near` may be started from, null: nothing.
    std::function<Probe(double depth_mm, const Probe* near)> rough;
    /// With all nodes; what was found before at that depth may be started from.
    std::function<Probe(const Probe& before)> fine;
};

/// The end of a way down.
struct WayDown {
    Probe good;  ///< the deepest that passes; without `held` when that is the orifice
    /// What stops the device just below; not known: nothing is known below `good`. None: it comes
    /// to the end.
    std::optional<Probe> bad;
};

/// Depths closer than this are not told apart.
constexpr double depth_tolerance_mm = 0.02;

/// How far a device goes between `orifice_mm` and the depth of `deepest`: depths 2 mm apart are
/// tried (4 mm where the end is far from any limit), since what stops a device need not grow with
/// depth, and the first that does not pass is closed in on. Whatever the answer rests on was found
/// with all nodes; where no equilibrium is found the way ends.
/// @param least_inside_mm  below the orifice, where a device is first held
WayDown find_way_down(double orifice_mm, double least_inside_mm, Probe deepest, const Trier& trier);

}  // namespace anfract
