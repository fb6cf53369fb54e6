#pragma once

#include <optional>

#include "anfract/tooth/clinical_frame.h"
#include "anfract/tooth/tooth.h"

namespace anfract::tracing {

/// Where the wall between a canal and the furcation side of its root is thinnest.
struct DangerZone {
    double wall_mm = 0;
    double depth_mm = 0;
    double below_orifice_mm = 0;
    double hollow_mm = 0;  ///< of the root's surface there, inside the chord over 30 degrees to
                           ///< either side; 0 where it bulges
};

/// Whether a canal lies in a root whose distal side is known for thin walls and a hollow: the
/// mesial root of a lower molar, the mesiobuccal one of an upper. Common practice, no source.
bool in_danger_root(const std::string& fdi, const std::string& canal);

/// The thinnest wall within 60 degrees of distal, from the orifice to 2 mm above the foramen.
/// Nothing without a wall sheet or a known frame.
std::optional<DangerZone> danger_zone(const Canal& canal, const ClinicalFrame& frame);

}  // namespace anfract::tracing
