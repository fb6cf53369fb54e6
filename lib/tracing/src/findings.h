#pragma once

#include <string>
#include <vector>

#include "anfract/tooth/tooth.h"

namespace anfract::tracing {

/// What a reader must know beside the numbers, one sentence each.
std::vector<std::string> findings_of(const Tooth& tooth);

}  // namespace anfract::tracing
