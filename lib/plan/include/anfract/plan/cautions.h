#pragma once

#include <string>
#include <vector>

namespace anfract {

/// What must stand wherever a plan leaves the program, one sentence each.
const std::vector<std::string>& plan_cautions();

}  // namespace anfract
