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

Torsion torsion_of(const Beam& beam, const RodState& state,
                   const std::vector<std::pair<double, double>>& binds, double tip_depth_mm);

}  // namespace anfract
