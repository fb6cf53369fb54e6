#pragma once

#include <cstddef>
#include <cstdint>
#include <functional>
#include <vector>

#include "anfract/base/progress.h"
#include "field.h"

namespace anfract::tracing {

/// Cheapest ways from a set of sources to the voxels of a domain.
struct PathField {
    static constexpr std::int32_t none = -1;
    std::vector<float> cost;           ///< infinity where not reached
    std::vector<std::uint32_t> order;  ///< reached voxels by rising cost: parents before children
    /// By voxel, the place in `order` of the one before it; `none` at a source and where not
    /// reached.
    std::vector<std::int32_t> parent;

    /// The voxels from the source to `voxel`; empty when it was not reached.
    std::vector<std::size_t> path_to(std::size_t voxel) const;
};

/// How far ways are followed.
struct PathReach {
    float limit = 0;  ///< of total cost
    /// The search ends `beyond` the cost of the first voxel for which this holds, if given.
    std::function<bool(std::size_t voxel)> is_goal = {};
    float beyond = 0;
    /// Voxels that are not entered, if given.
    std::function<bool(std::size_t voxel)> is_shut = {};
};

/// Dijkstra's algorithm over the 26 neighbours [Dijkstra1959]: a step costs its length (mm) times
/// the mean of `cost_per_mm` at its ends. Voxels where `cost_per_mm` is infinite are not entered.
/// Returns early, with what it has, when cancelled.
PathField cheapest_paths(const std::vector<float>& cost_per_mm, const GridGeometry& geometry,
                         const std::vector<std::size_t>& sources, const PathReach& reach,
                         const Progress& progress);

}  // namespace anfract::tracing
