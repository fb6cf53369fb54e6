#pragma once

namespace anfract {

/// Energy of taking dentine off in thin chips: bone's (from memory, low confidence).
constexpr double least_cutting_N_per_mm2 = 100, most_cutting_N_per_mm2 = 500;

/// How deep a file that turns cuts into the wall it is pressed on while it advances by a
/// millimetre, about the length of a contact: mm for each N/mm.
///
/// The rubbing force mu q works 2 pi r mu q a turn and a mm of length; what that takes off, k N mm
/// for a mm^3, is a crescent of a circle shifted by w, 2 r w: w = (pi mu / k) q a turn. k is the
/// middle of its range, by ratio. The turns at rest at the depth are left out: a file is drawn back
/// as soon as it is there, and what it has not cut strains it rather more.
double cut_per_pressure_mm2_per_N(double friction, double speed_rpm, double feed_mm_per_s);

}  // namespace anfract
