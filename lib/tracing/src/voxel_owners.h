#pragma once

#include <cstddef>
#include <cstdint>
#include <vector>

#include "anfract/scan/volume.h"

namespace anfract::tracing {

/// What explains a voxel that is dark: the chamber, a canal by its number, or nothing yet.
class VoxelOwners {
  public:
    static constexpr int none = -2;
    static constexpr int chamber = -1;

    /// @param ridge_grey  of dentine between two canals, clear of noise
    VoxelOwners(const Brick& brick, double ridge_grey, unsigned threads)
        : brick_(brick),
          ridge_grey_(ridge_grey),
          threads_(threads),
          owner_(brick.grey.size(), none) {}

    int operator[](std::size_t voxel) const { return owner_[voxel]; }
    std::size_t size() const { return owner_.size(); }
    void give(std::size_t voxel, int owner) { owner_[voxel] = owner; }

    /// Gives to the owner the voxels that the blur of its path explains and nobody has: those from
    /// which the grey value has no ridge on the straight way to the path.
    void claim(const std::vector<std::size_t>& path, int owner);

  private:
    /// The claim within slices `from` to `to` of the brick.
    void claim_between(const std::vector<std::size_t>& path, int owner, int from, int to);

    const Brick& brick_;
    const double ridge_grey_;
    const unsigned threads_;
    std::vector<int> owner_;
    /// Of a claim while it is made, by voxel: the distance to its path, and the voxel there.
    std::vector<float> nearest_mm_;
    std::vector<std::uint32_t> foot_;
};

}  // namespace anfract::tracing
