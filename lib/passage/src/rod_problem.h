#pragma once

#include <Eigen/Core>
#include <vector>

#include "anfract/geometry/vec.h"
#include "moment_curve.h"

namespace anfract {

/// A rod near a line, held in by half-planes at each of its nodes: the convex problem
///
///     min over u   sum_i h W_i(b_i),  b_i = k_i + (u_{i-1} - 2 u_i + u_{i+1}) / h^2,
///                + 1/2 K |(u_1 - u_0) / h + phi|^2 - sum_i f_i . u_i
///                + sum over contacts of v^2 / (2 compliance),
///
/// where u_i (mm) are offsets in the two normal directions of the line, W = E I / 2 |b|^2 or the
/// energy of a law that softens, and v > 0 the depth by which a node is in the wall. The wall is
/// round_wall.h's smooth curve through half-planes n_j . F_i^T u_i <= gap_ij in even directions
/// n_j; it gives a little, so that the contact force is v over the compliance.
struct RodProblem {
    double spacing_mm = 0;               ///< h
    std::vector<double> stiffness_Nmm2;  ///< EI at small strain; those of the two ends are not used
    const MomentCurve* law = nullptr;    ///< null: linear
    std::vector<double> radius_mm;       ///< strain over bend, for the law
    std::vector<Vec2> curvature_per_mm;  ///< k, of the line
    double end_spring_Nmm = 0;           ///< K, rotational spring at node 0; 0: free
    Vec2 end_turn{0, 0};       ///< phi, turn of the first piece of the line from the spring's rest
    std::vector<Vec2> load_N;  ///< f; empty: none
    std::vector<Eigen::Matrix2d> side_frame;  ///< F, how the walls' directions look from the line
    Eigen::ArrayXXd gap_mm;                   ///< sides x nodes
    double compliance_mm_per_N = 0;           ///< of the wall, per side and node

    int node_count() const { return static_cast<int>(curvature_per_mm.size()); }
};

/// Where a node presses on the wall.
struct RodContact {
    int node = 0;
    int side = 0;       ///< the side nearest to the direction pressed in,
    double beside = 0;  ///< and how far that is from it, in sides, -1/2 to 1/2
    double force_N = 0;
};

struct RodSolution {
    std::vector<Vec2> offset_mm;
    std::vector<RodContact> contacts;  ///< by rising node
    int iterations = 0;
    double residual_N = 0;  ///< largest violation of equilibrium
    bool converged = false;
};

/// No wall is taken as stiffer than this.
inline constexpr double least_compliance_mm_per_N = 1e-7;

/// Solves it: from a start nearby by Newton's method; else, and where that gets nowhere, by an
/// interior point method, whose rough answer Newton's method makes exact.
///
/// @param near_mm  offsets to start from; null: unknown
/// @param loose    from a start nearby: stops where a step would gain less than this share of the
///                 energy; 0: at equilibrium
/// @pre at least 4 nodes; a number of sides that is a multiple of 4
RodSolution solve(const RodProblem& problem, const std::vector<Vec2>* near_mm = nullptr,
                  double loose = 0);

/// About where the rod lies: half the sides, a linear law, and not to the last digit.
RodSolution solve_roughly(const RodProblem& problem);

/// What is minimised (N mm), without the term of the wall.
double objective_Nmm(const RodProblem& problem, const std::vector<Vec2>& offset_mm);

}  // namespace anfract
