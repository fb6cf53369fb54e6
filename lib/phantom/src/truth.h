#pragma once

#include "anfract/phantom/phantom.h"
#include "tooth_solid.h"

namespace anfract {

/// The canals of a solid as an anfract.tooth in the patient frame, with their exact sections and
/// walls.
Tooth true_tooth(const ToothSolid& solid, const Pose& pose, unsigned threads);

}  // namespace anfract
