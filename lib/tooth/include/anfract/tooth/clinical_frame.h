#pragma once

#include <string>

#include "anfract/geometry/vec.h"

namespace anfract {

/// The directions a dentist speaks of, at one tooth: unit vectors in P, normal to one another. The
/// frame is a mirror image on the other side of the mouth, so it has no fixed handedness.
struct ClinicalFrame {
    Vec3 apical{0, 0, -1};
    Vec3 buccal{0, -1, 0};
    Vec3 mesial{1, 0, 0};
    bool known = false;  ///< the tooth number was given; otherwise buccal is the patient's left
    bool upper = false;  ///< the inner side is called palatal, P, instead of lingual, L
};

/// Directions from the patient's axes and the tooth's place in the arch (LPS: +x left, +y back, +z
/// up).
///
/// Molars and premolars: buccal is away from the midline (x), mesial is forward (-y). Incisors:
/// buccal is forward, mesial toward the midline. Canines stand at the corner, halfway between.
/// These are then made normal to the axis. The arch is taken as two straight sides and a straight
/// front, and the head as upright in the scanner: a rotated or tilted tooth may be off by 20 to 30
/// degrees, which moves a direction by at most one of the eight names. Common practice, no source.
///
/// @param fdi          ISO 3950 number; "" gives a frame with `known` false
/// @param apical_axis  along the tooth toward the root ends, P; need not be of unit length. @pre
/// not zero
ClinicalFrame clinical_frame(const std::string& fdi, const Vec3& apical_axis);

/// The nearest of M, MB, B, DB, D, DL, L, ML (DP, P, MP in the upper jaw), or of left, right,
/// front, back when the tooth number is not known. The part along the tooth is ignored; "" for no
/// direction.
std::string direction_name(const ClinicalFrame& frame, const Vec3& direction_P);

/// Degrees round the tooth from buccal toward mesial, in (-180, 180].
double direction_deg(const ClinicalFrame& frame, const Vec3& direction_P);

}  // namespace anfract
