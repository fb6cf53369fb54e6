#pragma once

#include <optional>
#include <vector>

#include "anfract/base/progress.h"
#include "chamber.h"
#include "evidence.h"
#include "minimal_path.h"

namespace anfract::tracing {

/// A canal as a chain of voxels, from the chamber (or the canal it leaves) to its end.
struct CanalPath {
    std::vector<std::size_t> voxels;
    double score_mm = 0;         ///< integral of (z - threshold) along the part that is its own
    double own_mm = 0;           ///< length of that part
    std::size_t first_sign = 0;  ///< the voxel of its own part where evidence begins
    double mean_z = 0;           ///< of the evidence along that part
    double unseen_mm = 0;  ///< of the end, along which evidence is missing and the way is a guess
    int leaves = -1;       ///< position of the canal it divides off from, with voxels[0] on it
    int joins = -1;        ///< position of the canal it runs into, with voxels.back() on it
};

/// What the search looks at.
struct CanalSearch {
    const Brick& brick;  ///< a lightly smoothed image: ridges between canals are looked for in it
    const ToothBody& body;
    const PulpSpace& pulp;
    const TubeEvidence& evidence;
    const GreyLevels& levels;
    const Mask& open;                  ///< where canals may run: not coronal of the chamber
    Vec3 coronal_P{0, 0, 1};           ///< from the roots to the crown
    std::vector<std::size_t> sources;  ///< voxels of the chamber
    unsigned threads = 0;
};

/// What the search found.
struct FoundCanals {
    std::vector<CanalPath> canals;
    std::vector<CanalPath> possible;  ///< with too little evidence to be traced as canals
};

/// Finds the canals one by one, strongest first: docs/methods/tracing.md, "Canals".
FoundCanals find_canals(const CanalSearch& search, const Progress& progress);

/// The cheapest way through the evidence from one voxel to another, whatever the evidence is.
CanalPath forced_canal(const CanalSearch& search, std::size_t from, std::size_t to,
                       const Progress& progress);

}  // namespace anfract::tracing
