#pragma once

#include <vector>

#include "anfract/tooth/tooth.h"
#include "canal_fit.h"

namespace anfract::tracing {

/// A canal as found and fitted, before it has a name.
struct TracedCanal {
    CanalPath path;
    FittedCanal fit;
    double presence = 0;
    bool by_hand = false;
    bool end_fixed = false;         ///< the user gave the end, and it is not sought further
    std::vector<FixedPlace> fixed;  ///< by the user
};

/// Sections of each canal from the chamber to the foramen: shared parts of canals that leave or
/// join others are taken from those. `own_from` and `own_to` are the positions of its own part.
struct WholeCanal {
    std::vector<FittedSection> sections;
    std::size_t own_from = 0;
    std::size_t own_to = 0;  ///< one past the last
};
std::vector<WholeCanal> whole_canals(const std::vector<TracedCanal>& traced);

/// A canal of the file from its sections; depths are counted from `reference_P`.
Canal to_canal(const WholeCanal& whole, const TracedCanal& traced, const Vec3& reference_P,
               const Brick& depth);

}  // namespace anfract::tracing
