#pragma once

#include <optional>
#include <string>
#include <vector>

#include "anfract/scan/movement.h"
#include "anfract/tooth/tooth.h"
#include "levels.h"
#include "second_image.h"

namespace anfract::tracing {

/// A sheet of pulp between two canals, told by their names.
struct SeenIsthmus {
    std::string first, second;
    double from_depth_mm = 0, to_depth_mm = 0;  ///< of the first
    double thickness_mm = 0;
};

/// What a reader must know of a tracing beside the tooth itself.
struct TraceFacts {
    double least_width_mm = 0;    ///< a canal at least this wide would have been seen
    bool cut_by_scan = false;     ///< the tooth reaches the border of the scan
    bool runs_into_bone = false;  ///< the line between tooth and bone is blurred away in places
    bool too_sharp = false;       ///< a point spread narrower than a voxel's own was measured
    bool reference_given = false;
    std::vector<double> unseen_mm;  ///< for each canal: length of the end that is a guess
    std::vector<SeenIsthmus> isthmuses;
    std::optional<Movement> movement;  ///< of the head, while the scan was taken
    std::vector<SecondImage> second_images;
};

/// The width that a canal of some millimetres' length needs to be seen: its area times contrast
/// over noise gives the evidence, so it goes with the root of the noise and with the point spread.
/// Calibrated on phantoms, with half as much again for safety (docs/methods/tracing.md,
/// "Presence").
double least_visible_width_mm(const GreyLevels& levels);

/// What was not found, what is doubtful, one sentence each.
std::vector<std::string> findings_of(const Tooth& tooth, const TraceFacts& facts);

}  // namespace anfract::tracing
