#pragma once

#include "varying_tube.h"

namespace anfract {

/// A thin sheet of pulp between two canals, from one height to another.
class Isthmus {
  public:
    /// @pre from_z_mm < to_z_mm, both within the two canals
    Isthmus(const VaryingTube& first, const VaryingTube& second, double thickness_mm,
            double from_z_mm, double to_z_mm);

    /// Signed distance, negative inside; right to first order near the sheet.
    double distance_mm(const Vec3& point) const;
    double from_z_mm() const { return from_z_mm_; }
    double to_z_mm() const { return to_z_mm_; }

  private:
    std::vector<Vec2> first_, second_;  ///< the two centrelines at even heights
    double thickness_mm_, from_z_mm_, to_z_mm_;
};

}  // namespace anfract
