#include "rod_problem.h"

#include "contact_interior.h"
#include "contact_newton.h"
#include "guide.h"

namespace anfract {
namespace {

std::vector<double> laid_flat(const std::vector<Vec2>& offsets) {
    std::vector<double> flat;
    flat.reserve(2 * offsets.size());
    for (const Vec2& offset : offsets) flat.insert(flat.end(), {offset.x(), offset.y()});
    return flat;
}

/// A problem that shows about where the rod touches: half the sides, and a linear law, as stiff as
/// the sections are at the line's own bend.
RodProblem rough_problem(const RodProblem& problem) {
    RodProblem rough = problem;
    rough.law = nullptr;
    for (int i = 0; problem.law && i < problem.node_count(); ++i) {
        const double strain = problem.curvature_per_mm[i].norm() * problem.radius_mm[i];
        rough.stiffness_Nmm2[i] *= problem.law->at(strain).secant;
    }
    if (problem.gap_mm.rows() == side_count) {
        rough.gap_mm.resize(side_count / 2, problem.gap_mm.cols());
        for (int j = 0; j < side_count / 2; ++j) rough.gap_mm.row(j) = problem.gap_mm.row(2 * j);
    }
    return rough;
}

}  // namespace

RodSolution solve_roughly(const RodProblem& problem) {
    constexpr double closeness = 1e-4;
    return solve_by_interior_point(rough_problem(problem), closeness);
}

RodSolution solve(const RodProblem& problem, const std::vector<Vec2>* near_mm, double loose) {
    constexpr int most_steps = 25;
    constexpr double full = 1e-7;
    int iterations = 0;
    if (near_mm) {
        RodSolution near = solve_by_newton(problem, laid_flat(*near_mm), most_steps, loose);
        if (near.converged) return near;
        iterations += near.iterations;
    }
    const RodSolution about = solve_roughly(problem);
    iterations += about.iterations;
    if (about.converged) {
        RodSolution exact = solve_by_newton(problem, laid_flat(about.offset_mm), most_steps);
        iterations += exact.iterations;
        if (exact.converged) {
            exact.iterations = iterations;
            return exact;
        }
    }
    RodSolution exact = solve_by_interior_point(problem, full);
    exact.iterations += iterations;
    return exact;
}

}  // namespace anfract
