#pragma once

#include <Eigen/Core>
#include <vector>

#include "anfract/geometry/vec.h"

namespace anfract {

/// A rod near a line, held in by half-planes at each of its nodes: the convex quadratic programme
///
///     min over u   sum_i h (1/2 b_i . D_i b_i + m_i . b_i),  b_i = k_i + (u_{i-1} - 2 u_i +
///     u_{i+1}) / h^2,
///                + 1/2 K |(u_1 - u_0) / h + phi|^2 - sum_i f_i . u_i + 1/2 sum z^2 compliance
///     such that    a_ij . u_i <= gap_ij + compliance z_ij,
///
/// where u_i (mm) are offsets in the two normal directions of the line and z_ij >= 0 the contact
/// forces.
struct RodProblem {
    double spacing_mm = 0;  ///< h
    std::vector<Eigen::Matrix2d>
        stiffness_Nmm2;  ///< D, EI for a linear law; those of the two ends are not used
    std::vector<Vec2>
        moment_Nmm;  ///< m, what a law linearised at a bend leaves at b = 0; empty: none
    std::vector<Vec2> curvature_per_mm;  ///< k, of the line
    double end_spring_Nmm = 0;           ///< K, rotational spring at node 0; 0: free
    Vec2 end_turn{0, 0};       ///< phi, turn of the first piece of the line from the spring's rest
    std::vector<Vec2> load_N;  ///< f; empty: none
    Eigen::ArrayXXd side_x, side_y;  ///< a, sides x nodes
    Eigen::ArrayXXd gap_mm;          ///< sides x nodes
    double compliance_mm_per_N = 0;  ///< of the wall, per side and node

    int node_count() const { return static_cast<int>(curvature_per_mm.size()); }
};

struct RodSolution {
    std::vector<Vec2> offset_mm;
    Eigen::ArrayXXd force_N;  ///< z, sides x nodes
    int iterations = 0;
    double residual_N = 0;           ///< largest violation of equilibrium
    double residual_mm = 0;          ///< largest violation of a side
    double complementarity_Nmm = 0;  ///< mean of s z
    bool converged = false;
};

/// Solves it by a primal-dual interior point method with predictor and corrector [Mehrotra1992],
/// the Newton systems by banded Cholesky factors, so that the cost rises with the number of nodes.
///
/// @param start  the solution of a problem alike (same nodes and sides), or null
/// @pre at least 4 nodes; a number of sides that is a multiple of 4
RodSolution solve(const RodProblem& problem, const RodSolution* start = nullptr);

/// What is minimised (N mm), without the term of the wall.
double objective_Nmm(const RodProblem& problem, const std::vector<Vec2>& offset_mm);

}  // namespace anfract
