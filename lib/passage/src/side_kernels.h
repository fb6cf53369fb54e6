#pragma once

#include <cstdint>
#include <vector>

namespace anfract {

/// The arrays of the interior point method, one entry per side and node, node after node; and the
/// loops over them, which cost nearly all of its time. Each loop reads an array once; each slack
/// and force is inverted at most once.
/// @pre the number of sides is a multiple of 4
struct SideArrays {
    int sides = 0, nodes = 0;
    const double *x = nullptr, *y = nullptr, *gap = nullptr;  ///< of the problem
    double compliance = 0;
    std::vector<double> slack, force;  ///< s, z
    std::vector<double> weight, inverse_force, residual, pull, shift, step_slack, step_force;

    void resize();
};

/// Sums over the sides of one node.
struct NodeSums {
    double force_x, force_y;  ///< sum of a z
    double xx, xy, yy;        ///< sum of w a a^T
    double pull_x, pull_y;    ///< sum of a pull
};

struct SideStatistics {
    double product = 0;  ///< sum of s z
    double largest_residual = 0;
};

/// Residuals a.u + s - gap - compliance z, weights z/(s + compliance z), and the pull of the
/// predictor.
SideStatistics prepare_sides(SideArrays& a, const double* u, NodeSums* sums);

/// What a direction does to slacks and forces.
struct SideStep {
    double shrink = 0;  ///< largest relative decrease: 1/shrink is the longest step
    double mixed = 0;   ///< sum of s dz + z ds
    double square = 0;  ///< sum of ds dz
};

/// Steps of the predictor for node steps `du`.
SideStep predict_sides(SideArrays& a, const double* du);
/// The pull of the corrector, aiming at s z = `target`, into sums[].pull.
void correct_sides(SideArrays& a, double target, NodeSums* sums);
/// Steps of the corrector for node steps `du`.
double step_sides(SideArrays& a, const double* du);
/// Moves slacks and forces along their steps.
void advance_sides(SideArrays& a, double step);

/// v_j = n_j . seen - gap_j; returns a bit for each side with v_j > 0, the lowest for side 0.
/// @pre at most 64 sides
std::uint64_t sides_beyond(const double* gap, int sides, const double* n_x, const double* n_y,
                           double seen_x, double seen_y, double* v);

}  // namespace anfract
