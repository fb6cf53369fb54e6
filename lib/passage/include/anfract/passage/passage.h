#pragma once

#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "anfract/geometry/vec.h"

namespace anfract {

/// What keeps a device from going further.
enum class StoppedBy {
    Foramen,
    Width,
    Stiffness,
    Force,
    Buckling,
    Length,
    Strain,
    Unknown,  ///< no equilibrium was found below, so that nothing is known of it there
};

std::string to_string(StoppedBy reason);

/// How the part of the device outside the canal lies.
enum class Access {
    Axial,     ///< the handle end floats in line with the coronal canal
    Straight,  ///< the planned opening: the handle end is free to lean as the canal wants
};

/// Cycles of rotation to fracture as a range, never one number.
struct CycleRange {
    double low = 0, median = 0, high = 0;
};

/// The tip of a device against the canal it is led by.
struct TipContact {
    double clearance_mm =
        0;  ///< between tip and wall on either side, were it centred; below 0: it cuts
    double attack_deg = 0;       ///< between the tip's axis and the canal's
    double side_force_N = 0;     ///< of the last half millimetre on the wall
    bool at_outer_wall = false;  ///< that wall is the outer one of a curve, where ledges begin
};

/// What an instrument that turns is twisted by, against what breaks it.
struct Torsion {
    double bound_mm = 0;        ///< length that fills the canal
    double hysteresis_mNm = 0;  ///< torque that turning a bent superelastic alloy takes for itself
    double fracture_low_mNm = 0;  ///< of the thinnest section that is bound, or pressed on hardest
    double fracture_high_mNm = 0;
    double share_low = 0, share_high = 0;              ///< of all torque in the fracture torque
    double cutting_low_mNm = 0, cutting_high_mNm = 0;  ///< of taking away dentine while it advances
    double lock_mNm = 0;  ///< to turn it once its taper is wedged by the usual push
    double screw_in_low_N = 0, screw_in_high_N = 0;  ///< pull of the flutes' helix while it cuts
};

/// How a steel hand file is to be bent beforehand.
struct PreBend {
    double bend_to_radius_mm = 0;  ///< round this,
    double springs_to_radius_mm =
        0;  ///< to lie in the canal's sharpest bend, of this radius, without load
    double from_tip_mm = 0, to_tip_mm = 0;
    double set_radius_mm = 0;  ///< which it would keep if pushed down straight
};

/// The section bent most, while the device is drawn out and after.
struct Withdrawal {
    double from_tip_mm = 0;
    double moment_mNm = 0;          ///< in place
    double moment_at_half_mNm = 0;  ///< on the way back, at half the bend; below 0: it keeps more
    std::optional<double>
        set_radius_mm;  ///< of the bend it keeps; absent: it springs back straight
};

/// Where a device of the size stated may come to a stop, since sizes are made to a tolerance.
struct FitBand {
    double shallowest_mm = 0, deepest_mm = 0;  ///< depth of the tip
    /// What to cut off a cone's tip, so that it binds just at the foramen; absent when it binds
    /// above.
    std::optional<double> trim_mm;
};

/// What it takes to draw a fitted cone out again.
struct TugBack {
    double seated_with_N = 0;  ///< the push it was seated with
    double force_N = 0;        ///< 0: it slides out by itself
    /// The same for a cone of the size stated that is thicker or thinner by its tolerance, seated
    /// where that one stops; absent without a tolerance.
    std::optional<std::pair<double, double>> range_N;
};

/// Loads at which the device would give way sideways.
struct BucklingLoad {
    double outside_N = 0;      ///< the part above the orifice, as a column
    double share_outside = 0;  ///< push over that
    double share_inside = 0;   ///< compression over what buckles inside, where it is nearest
};

/// The device in the canal at its deepest reach, along depth, at most 0.1 mm apart.
struct PassageProfile {
    std::vector<double> depth_mm;
    std::vector<Vec3> offset_P_mm;  ///< device axis minus canal centreline
    std::vector<double> strain;     ///< largest bending strain of the section, absolute
    std::vector<double> contact_N_per_mm;
    std::vector<Vec3>
        contact_toward_P;  ///< unit vector from the device to the wall it presses on; zero if none
};

/// The answer for one device in one canal.
struct Passage {
    std::string canal;
    std::string device;
    Access access = Access::Axial;
    double reaches_mm = 0;  ///< depth of the tip
    StoppedBy stopped_by = StoppedBy::Foramen;
    double stopped_at_mm = 0;  ///< depth of the place that decides, which may lie above the tip
    double limit = 0;          ///< the limit that was met, in the unit of what stopped it
    std::string why;           ///< one sentence with the number that decided
    double stop_setting_mm =
        0;  ///< reaches_mm rounded down to what a stop can be set to, 0.5 mm or finer
    std::vector<std::pair<double, double>>
        binds;  ///< depth ranges where the device fills the canal
    double peak_strain = 0;
    double peak_strain_depth_mm = 0;
    double push_force_N = 0;
    double torque_mNm = 0;
    double bending_energy_mJ = 0;
    std::optional<CycleRange> cycles_to_failure;  ///< for instruments that rotate
    std::optional<CycleRange>
        life_used_per_minute;  ///< share of its life, at its usual speed (Miner)
    std::optional<TipContact> tip;
    std::optional<Torsion> torsion;        ///< for instruments that turn
    std::optional<PreBend> pre_bend;       ///< for steel hand files that the canal bends for good
    std::optional<Withdrawal> withdrawal;  ///< for materials that are not linear
    std::optional<FitBand> fit;            ///< for devices with a tolerance that their shape stops
    std::optional<TugBack> tug_back;       ///< for cones
    std::optional<BucklingLoad> buckling;
    PassageProfile profile;
};

}  // namespace anfract
