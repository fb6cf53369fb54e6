#pragma once

#include <vector>

#include "anfract/base/progress.h"
#include "chamber.h"
#include "levels.h"
#include "tooth_mask.h"

namespace anfract::tracing {

/// Evidence for a thin dark tube through each voxel of the tooth.
struct TubeEvidence {
    std::vector<float>
        z;  ///< standard deviations above what dentine's noise gives; -1 outside the tooth
};

/// Matched filter for a dark tube of any direction: the middle eigenvalue of the Hessian of the
/// image smoothed at four widths, each in units of its own scatter in plain dentine, the largest
/// taken (docs/methods/tracing.md, "Evidence"). Outside the tooth the image is replaced by dentine,
/// so that ligament, bone and air give no response; dark voxels wider than the filters count as
/// certain.
TubeEvidence tube_evidence(const Brick& brick, const ToothBody& body, const PulpSpace& pulp,
                           const GreyLevels& levels, unsigned threads, const Progress& progress);

}  // namespace anfract::tracing
