#pragma once

#include <optional>
#include <string>
#include <vector>

#include "anfract/geometry/vec.h"

namespace anfract::tracing {

/// Names for the canals of a tooth from where they lie across it, in the terms of the trade.
///
/// `middle_mm`: for each canal its place across the tooth's axis, x toward mesial and y toward buccal
/// (labial), mm from the middle of the crown. Without a tooth number the names are A, B, C ... in the order
/// given. No two canals get the same name.
std::vector<std::string> canal_names(const std::string& fdi, const std::vector<Vec2>& middle_mm);

/// Unit vectors toward mesial and toward buccal in the patient frame for a tooth of an upright patient,
/// normal to the apical direction. Empty when the number is unknown.
struct CrownDirections {
    Vec3 mesial_P{1, 0, 0};
    Vec3 buccal_P{0, 1, 0};
};
std::optional<CrownDirections> crown_directions(const std::string& fdi, const Vec3& apical_P);

}  // namespace anfract::tracing
