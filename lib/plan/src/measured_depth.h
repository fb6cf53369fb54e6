#pragma once

#include <string>
#include <vector>

#include "canal_case.h"

namespace anfract {

/// Refuses measured depths that cannot be of this tooth: a canal that is not there, a number that
/// is none, a depth outside the canal.
Result<void> check_measured_depths(const Tooth& tooth, const PlanOptions& options);

/// Sets the working depth of a canal, measured or from the scan, with its sentence. A canal
/// measured longer than the scan shows is carried on straight, as wide as its end, to where its
/// foramen must then be; walls near there become not known.
void set_working_depth(CanalCase& canal);

/// What the plan at the measured depth does otherwise than `scans`, the order at the scan's depth.
std::vector<std::string> depth_changes(const CanalCase& canal, const Order& scans);

}  // namespace anfract
