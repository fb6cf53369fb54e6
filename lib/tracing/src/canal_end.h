#pragma once

#include <vector>

#include "anfract/base/progress.h"
#include "canal_paths.h"
#include "voxel_owners.h"

namespace anfract::tracing {

inline constexpr float z_threshold = 3.0F;  ///< below it a voxel speaks against a canal
inline constexpr float z_ceiling = 8.0F;    ///< a wide canal must not outweigh long gaps elsewhere

/// A canal has a wall, save where it opens: what runs along just under the surface is a groove of
/// the root.
inline constexpr float least_wall_mm = 0.4F;

/// What a voxel says for a canal through it, per mm.
float gain_at(const CanalSearch& search, std::size_t voxel);

/// How far toward the crown a voxel lies.
double height_mm(const CanalSearch& search, std::size_t voxel);

/// What the end of a canal is sought in.
struct EndSearch {
    const CanalSearch& search;
    const std::vector<float>& price;  ///< of a mm, by voxel
    const VoxelOwners& owner;
    const std::vector<CanalPath>& canals;  ///< the others
    const Progress& progress;
};

/// Leads a path from where its evidence ends to just under the root's surface, where the fit takes
/// over, or into another canal: docs/methods/tracing.md, "Canals".
void lead_to_end(const EndSearch& by, CanalPath& path);

}  // namespace anfract::tracing
