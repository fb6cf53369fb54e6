#pragma once

#include <cstddef>
#include <cstdint>
#include <vector>

#include "anfract/base/progress.h"
#include "field.h"

namespace anfract::tracing {

/// Cheapest ways from a set of sources to the voxels of a domain.
struct PathField {
    static constexpr std::int32_t none = -1;
    std::vector<float> cost;  ///< infinity where not reached
    std::vector<std::int32_t>
        parent;  ///< previous voxel, or `none` at a source and where not reached
    std::vector<std::uint32_t> order;  ///< reached voxels by rising cost: parents before children

    /// The voxels from the source to `voxel`; empty when it was not reached.
    std::vector<std::size_t> path_to(std::size_t voxel) const;
};

/// Dijkstra's algorithm over the 26 neighbours [Dijkstra1959]: a step costs its length (mm) times
/// the mean of `cost_per_mm` at its ends. Voxels where `cost_per_mm` is infinite are not entered.
/// Stops at `limit` of total cost. Returns early, with what it has, when cancelled.
PathField cheapest_paths(const std::vector<float>& cost_per_mm, const GridGeometry& geometry,
                         const std::vector<std::size_t>& sources, float limit,
                         const Progress& progress);

}  // namespace anfract::tracing
