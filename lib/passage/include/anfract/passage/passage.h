#pragma once

#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "anfract/geometry/vec.h"

namespace anfract {

/// What keeps a device from going further.
enum class StoppedBy { Foramen, Width, Stiffness, Force, Buckling, Length, Strain };

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

/// The device in the canal at its deepest reach, along depth, at most 0.1 mm apart.
struct PassageProfile {
    std::vector<double> depth_mm;
    std::vector<Vec3> offset_P_mm;       ///< device axis minus canal centreline
    std::vector<double> strain;          ///< largest bending strain of the section, absolute
    std::vector<double> contact_N_per_mm;
    std::vector<Vec3> contact_toward_P;  ///< unit vector from the device to the wall it presses on; zero if none
};

/// The answer for one device in one canal.
struct Passage {
    std::string canal;
    std::string device;
    Access access = Access::Axial;
    double reaches_mm = 0;           ///< depth of the tip
    StoppedBy stopped_by = StoppedBy::Foramen;
    double stopped_at_mm = 0;        ///< depth of the place that decides, which may lie above the tip
    double limit = 0;                ///< the limit that was met, in the unit of what stopped it
    std::string why;                 ///< one sentence with the number that decided
    double stop_setting_mm = 0;      ///< reaches_mm rounded down to what a stop can be set to, 0.5 mm or finer
    std::vector<std::pair<double, double>> binds;  ///< depth ranges where the device fills the canal
    double peak_strain = 0;
    double peak_strain_depth_mm = 0;
    double push_force_N = 0;
    double torque_mNm = 0;
    double bending_energy_mJ = 0;
    std::optional<CycleRange> cycles_to_failure;  ///< for instruments that rotate
    PassageProfile profile;
};

}  // namespace anfract
