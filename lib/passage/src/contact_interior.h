#pragma once

#include "rod_problem.h"

namespace anfract {

/// Solves a rod between walls by a primal-dual interior point method with predictor and corrector
/// [Mehrotra1992], the Newton systems by banded factors. Comes to the answer from anywhere in some
/// ten to twenty iterations.
///
/// @param closeness  stops when mean complementarity over (force scale x mm) is below it and the
/// rod is
///                   in equilibrium within as much of the force scale; 1e-7: fully solved
RodSolution solve_by_interior_point(const RodProblem& problem, double closeness);

}  // namespace anfract
