#pragma once

#include "canal_fit.h"

namespace anfract::tracing {

/// How a canal that runs into another one was followed beside it.
struct Parting {
    Polyline line;              ///< of the first canal, led on to where the two are one
    bool apart_to_end = false;  ///< they stay two until the surface
};

/// Follows a canal further along the one it was found to run into, as long as two tubes explain the
/// sections better than one: where canals approach at a small angle their voxels cannot be told
/// apart long before their centres meet. In each section a mixture of two blurred tubes is fitted
/// by expectation-maximisation [Dempster1977], starting from where the last section puts them.
/// docs/methods/tracing.md, "Joins".
///
/// `line` runs toward the join and ends on `into`, which goes on beyond it.
Parting follow_beside(const FitInput& input, const Polyline& line, const FittedCanal& into);

}  // namespace anfract::tracing
