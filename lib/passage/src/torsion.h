#pragma once

#include <utility>
#include <vector>

#include "anfract/passage/passage.h"
#include "beam.h"
#include "rod.h"

namespace anfract {

/// Torque (N mm) that breaks a section of `diameter_mm`, as a range.
///
/// T = tau pi d^3 / 16 of a round bar. Steel: the least torques of [ISO3630-1] at 3 mm from the tip
/// are 430 to 515 MPa (arithmetic on a table from memory), taken as the low end; wire of 1.7 to 2.3
/// GPa (handbook, from memory) bears up to 0.58 of that, 1330 MPa. Nickel-titanium: published 5 to
/// 12 mN m for a 025/.06 at 3 mm (from memory), 320 to 770 MPa. Whether a bend raises or lowers it
/// is disputed [Zanza2021, Jamleh2020], so a bend changes nothing here.
std::pair<double, double> fracture_torque_Nmm(const Device& device, double diameter_mm);

/// Energy (N mm per mm of length) that one turn of a round section bent to surface strain `strain`
/// loses, for superelastic alloy: a fibre at distance rho from the axis goes to strain +-eps rho/r
/// once a turn each, and passes the loop between upper and lower plateau, (379 - 138) MPa wide
/// (typical data of a wire supplier, 1999), both times:
///     W = 2 (sigma_u - sigma_l) * integral over the section of max(0, eps rho/r - eps_s) dA,
/// eps_s = 379 MPa / E being where the plateau begins.
double loop_energy_N(double strain, double radius_mm);

/// Volume (mm^3 per mm of advance) that a tapered device takes away along the ranges that it fills:
/// the integral of 2 pi r dr/dx over them.
double cut_per_advance_mm2(const Beam& beam, const std::vector<std::pair<double, double>>& binds,
                           double tip_depth_mm);

/// What twists a device that turns, and what that does to it.
///
/// Cutting: the work of a turn is 2 pi T = k V' f, V' the volume per advance and f the advance per
/// turn; k is 100 to 500 N/mm^2 (bone taken off in thin chips; from memory, low confidence). At the
/// flutes' edges that is a force T/r across, and their helix, 15 to 35 degrees to the axis (from
/// memory, low confidence), turns it into a pull of T/r tan(helix), the screw-in force.
/// Lock: a cone of half angle a pushed in by F is held by N = F/(sin a + mu cos a), and mu N r
/// turns it (a taper lock, closed form).
Torsion torsion_of(const Beam& beam, const RodState& state,
                   const std::vector<std::pair<double, double>>& binds, double tip_depth_mm,
                   double friction);

}  // namespace anfract
