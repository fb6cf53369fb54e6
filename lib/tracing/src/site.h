#pragma once

#include <optional>
#include <vector>

#include "anfract/base/progress.h"
#include "anfract/base/result.h"
#include "anfract/scan/movement.h"
#include "anfract/tooth/tooth.h"
#include "anfract/tracing/trace.h"
#include "canal_paths.h"
#include "chamber.h"
#include "evidence.h"
#include "levels.h"
#include "tooth_mask.h"

namespace anfract::tracing {

/// What is prepared of a tooth before its canals are sought: its part of the scan, its tissues, its
/// solid, its pulp and the evidence for tubes.
struct Site {
    ScanFacts scan;
    bool invented = false;
    Brick brick;
    GreyLevels levels;
    std::optional<Movement> movement;  ///< of the head; nothing where there are too few edges
    ToothBody body;
    bool runs_into_bone = false;  ///< but for its outer surface, which says where it ends
    PulpSpace pulp;
    Vec3 coronal_P{0, 0, 1};  ///< from the roots to the crown
    TubeEvidence evidence;
    Brick calm;                               ///< lightly smoothed
    Mask open;                                ///< where canals may run
    std::vector<std::size_t> chamber_voxels;  ///< where they begin

    unsigned threads = 0;  ///< that work on it

    CanalSearch search() const;
    std::size_t voxel_at(const Vec3& point_P) const;  ///< the nearest one of the brick
    double depth_mm(const Vec3& point_P) const;       ///< under the tooth's surface
};

/// Errors: as `trace`.
Result<Site> look_round(const Volume& volume, const TraceRequest& request,
                        const Progress& progress);

}  // namespace anfract::tracing
