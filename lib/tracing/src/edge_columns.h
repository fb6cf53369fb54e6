#pragma once

#include "closed_surface.h"
#include "levels.h"

namespace anfract::tracing {

constexpr double column_step_mm = 0.1;

/// How badly grey values round a place, along a line out of the tooth, are explained by the
/// tooth's surface lying there.
class EdgeModel {
  public:
    explicit EdgeModel(const GreyLevels& levels);

    /// Samples on either side of a place that are looked at.
    static constexpr int reach = 5;
    /// The mean square of what is left unexplained, in units of the contrast squared. `grey` points
    /// at the place; the line runs outward in steps of `column_step_mm`.
    float misfit(const float* grey) const;

  private:
    static constexpr int samples = 2 * reach + 1;
    /// Grey = inner * inside + outer * outside + fixed, blurred.
    struct Profile {
        std::array<float, samples> inside, outside, fixed;
        float ii = 0, io = 0, oo = 0;
        float greatest_outer = 0;
    };
    Profile profile(double slit_mm, double greatest_outer) const;
    float misfit(const float* grey, const Profile& profile) const;

    GreyLevels levels_;
    Profile bone_, open_;
};

}  // namespace anfract::tracing
