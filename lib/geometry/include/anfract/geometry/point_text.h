#pragma once

#include <string>

#include "anfract/base/result.h"
#include "anfract/geometry/vec.h"

namespace anfract {

/// The point written as "X,Y,Z" in millimetres. BadInput names `where`, the option or key it came
/// from.
Result<Vec3> parse_point(const std::string& text, const std::string& where);

}  // namespace anfract
