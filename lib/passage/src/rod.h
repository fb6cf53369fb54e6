#pragma once

#include <vector>

#include "anfract/passage/passage.h"
#include "beam.h"
#include "guide.h"
#include "rod_problem.h"

namespace anfract {

struct RodOptions {
    Access access = Access::Axial;
    double friction = 0.2;
    double spacing_mm = 0.1;
    double handle_mm = 0;  ///< distance from tip to where the device is held
    double speed_rpm = 0;  ///< of a driven instrument; friction then acts mostly about the axis
    double feed_mm_per_s = 0;
    int most_rounds = 20;  ///< of laying the line anew; 1: the model of small offsets
};

/// A device at rest in a canal with its tip at a depth. Nodes run from the orifice to the tip.
struct RodState {
    double spacing_mm = 0;
    std::vector<double> depth_mm;  ///< of the place of the centreline nearest to the node
    std::vector<double> from_tip_mm;
    std::vector<Vec3> point_P, centre_P;   ///< device axis, and centreline nearest to it
    std::vector<Vec3> curvature_per_mm;    ///< of the device axis, P
    std::vector<double> strain;            ///< at the surface
    std::vector<Vec3> contact_N;           ///< what the node presses on the wall with
    std::vector<double> compression_N;     ///< axial, just above the node
    std::vector<Vec3> side_load_N_per_mm;  ///< of the axial force, where the device is bent, P
    double bending_energy_Nmm = 0;
    double push_N = 0;                   ///< compression at the orifice
    double push_without_friction_N = 0;  ///< its part that bends and wedges the device
    double torque_Nmm = 0;
    double moved_mm = 0;  ///< by the last round: how far the geometry is from converged
    double shrink = 0;    ///< of moves from one round to the next; 0: not known
    int rounds = 0, iterations = 0;
    bool converged = false;
};

/// Equilibrium of `beam` in `guide` with the tip at `tip_depth_mm`.
///
/// The first round linearises about the centreline. Every further one lays the line through the
/// device found before, spaces nodes evenly along it (the device does not stretch), gives it
/// twist-free frames, and linearises there, with stiffness softened for the strain found and with
/// the side load of the axial force; at convergence offsets are zero and rotations, however large,
/// are exact up to the spacing.
/// Without a state to start from, a rod with few nodes is found first, roughly, then with more.
/// Rounds end when the next may be expected to move no node by more than 2e-5 mm, by how much
/// smaller moves have become from one to the next.
/// @param near  a converged state to start from instead: of the same device, its tip at most some
///              tenths of a millimetre higher, its spacing any; null: none
/// @pre tip at least 4 times `spacing_mm`/2 below the orifice and not below the foramen
RodState hold_rod(const Guide& guide, const Beam& beam, double tip_depth_mm,
                  const RodOptions& options, const RodState* near = nullptr);

}  // namespace anfract
