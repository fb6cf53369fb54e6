#pragma once

#include "rod_problem.h"

namespace anfract {

/// Newton's method on the piecewise smooth energy of rod and wall, with a line search [Qi1993]: a
/// few cheap steps from offsets near the answer, many from afar or where the rod fills its walls.
/// @param loose  stops where a step would gain less than this share of the energy; 0: at
/// equilibrium Not converged after `most_steps`: says so.
RodSolution solve_by_newton(const RodProblem& problem, const std::vector<double>& start_mm,
                            int most_steps, double loose = 0);

}  // namespace anfract
