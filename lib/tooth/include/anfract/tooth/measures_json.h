#pragma once

#include <nlohmann/json_fwd.hpp>

#include "anfract/tooth/measures.h"
#include "anfract/tooth/tooth.h"

namespace anfract {

/// The anfract.measures document of a tooth and its measures, with the findings of the tooth and
/// the cautions that go with figures from a scan. Depths count from the reference point.
/// @pre `measures` are those of `tooth`
nlohmann::json measures_to_json(const Tooth& tooth, const ToothMeasures& measures);

}  // namespace anfract
