#pragma once

#include <memory>

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

    /// The zero level as triangles, counter-clockwise from outside. `adaptivity` in [0, 1]: how far
    /// flat parts are merged.
    Surface surface(double adaptivity) const;

  private:
    struct Grid;
    std::unique_ptr<Grid> grid_;
};

}  // namespace anfract::exchange
