#pragma once

#include <vector>

#include "banded.h"
#include "rod_problem.h"

namespace anfract {

/// What a rod is told without its walls: bending, end spring, load.
class RodEnergy {
  public:
    explicit RodEnergy(const RodProblem& problem) : p_(problem) {}

    struct Tangent {
        double xx, xy, yy;  ///< dM/db of a node
    };

    /// Energy (N mm) at offsets `u` (x and y node after node), its gradient, and the tangents for
    /// hessian().
    double evaluate(const std::vector<double>& u, std::vector<double>& gradient,
                    std::vector<Tangent>& tangent);
    void hessian(const std::vector<Tangent>& tangent, BandedMatrix& matrix) const;

    /// Contact forces of a bent rod are about moment over a length of some millimetres (N).
    double force_scale_N() const;

  private:
    const RodProblem& p_;
    std::vector<double> moment_;  // over the spacing
};

}  // namespace anfract
