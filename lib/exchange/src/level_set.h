#pragma once

#include <array>
#include <cstdint>
#include <memory>
#include <vector>

#include "anfract/tooth/tooth.h"

namespace anfract::exchange {

/// A solid as a signed distance on a sparse grid.
class LevelSet {
  public:
    /// @pre `surface` is closed
    LevelSet(const Surface& surface, double grid_mm);
    ~LevelSet();
    LevelSet(LevelSet&&) noexcept;

    void add(LevelSet&& other);   ///< union; empties `other`
    void take(LevelSet&& other);  ///< difference; empties `other`

    /// Whether each point of a block of the grid lies inside, 1 or 0, x fastest. Point (i, j, k) of
    /// the grid is at (i, j, k) * grid_mm.
    std::vector<std::uint8_t> inside(const std::array<int, 3>& first,
                                     const std::array<int, 3>& size) const;

    /// The zero level as triangles, counter-clockwise from outside. `adaptivity` in [0, 1]: how far
    /// flat parts are merged.
    Surface surface(double adaptivity) const;

  private:
    struct Grid;
    std::unique_ptr<Grid> grid_;
};

}  // namespace anfract::exchange
