#pragma once

#include <algorithm>
#include <vector>

#include "anfract/tray/material.h"

namespace anfract {

/// The moment law of a section as straight pieces, so that moment, tangent stiffness and energy
/// belong together to the last digit, which Newton's method and its line search need.
///
/// m(eps) = eps f(eps), f being MomentLaw::secant: moment over E I / radius. Pieces of 0.0005 of
/// strain up to 0.12; above, the last piece goes on. Slopes are kept above 0.001, so that the
/// energy stays strictly convex.
class MomentCurve {
  public:
    explicit MomentCurve(const MomentLaw& law);

    bool linear() const { return moment_.empty(); }

    struct Value {
        double secant = 1, tangent = 1;  ///< m / eps, dm / deps
        double energy = 0;               ///< integral of m from 0 to eps
    };
    Value at(double strain) const {
        if (linear()) return {1, 1, strain * strain / 2};
        // Whatever a step of Newton's method that went astray asks for, NaN too, lies in a piece.
        const double place = strain / step;
        const int i = place < pieces - 1 ? static_cast<int>(place) : pieces - 1;
        const double slope = slope_[i], past = strain - i * step;
        const double moment = moment_[i] + slope * past;
        return {strain > 0 ? moment / strain : slope, slope,
                energy_[i] + past * (moment_[i] + moment) / 2};
    }

  private:
    static constexpr int pieces = 240;
    static constexpr double step = 0.0005;
    std::vector<double> moment_, energy_, slope_;  // at the beginnings of the pieces
};

}  // namespace anfract
