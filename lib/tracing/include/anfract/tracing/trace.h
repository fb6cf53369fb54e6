#pragma once

#include <optional>
#include <string>
#include <vector>

#include "anfract/base/progress.h"
#include "anfract/base/result.h"
#include "anfract/geometry/vec.h"
#include "anfract/scan/volume.h"
#include "anfract/tooth/tooth.h"

namespace anfract {

/// A canal the user insists on: the path between these two points is traced whatever the evidence.
struct HandCanal {
    Vec3 orifice_P{0, 0, 0};
    Vec3 end_P{0, 0, 0};
};

/// What to trace. Points are LPS mm.
struct TraceRequest {
    Vec3 inside_P{0, 0, 0};  ///< in the pulp chamber or, failing that, the middle of the crown
    std::string fdi;         ///< ISO 3950 two-digit notation; "" when unknown: canals get letters
    std::optional<Vec3>
        reference_P;  ///< depths are counted from here; else the highest point of the crown
    std::vector<HandCanal> by_hand;
    unsigned threads = 0;  ///< 0: all processors; the result does not depend on it
};

/// Traces the canals of the tooth at the click: centrelines, widths, walls and how sure each of
/// them is.
///
/// Depth is the straight distance from the reference point to the orifice, then along the
/// centreline. When `reference_P` is not given it is the point of the crown furthest to the
/// occlusal side.
///
/// Errors: BadInput when the click is outside the scan or not in a tooth, or the number is no ISO
/// 3950 number; NotFound when no pulp can be seen; Cancelled. Method: docs/methods/tracing.md,
/// tooth-surface.md.
Result<Tooth> trace(const Volume& volume, const TraceRequest& request, const Progress& progress);

}  // namespace anfract
