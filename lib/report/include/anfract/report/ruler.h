#pragma once

#include <string>

#include "anfract/base/result.h"
#include "anfract/plan/plan.h"

namespace anfract {

/// The depth ruler of a plan as an SVG picture, `width_pt` points wide, height as needed.
/// Errors: BadInput when the plan has no canal.
Result<std::string> ruler_svg(const Plan& plan, double width_pt = 760);

/// The same as a PNG picture on white, `pixels_per_pt` pixels to a point.
Result<std::string> ruler_png(const Plan& plan, double width_pt = 760, double pixels_per_pt = 2);

}  // namespace anfract
