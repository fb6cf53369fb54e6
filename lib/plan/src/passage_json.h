#pragma once

#include <nlohmann/json_fwd.hpp>

#include "anfract/passage/passage.h"

namespace anfract {

/// A passage back from its JSON. @pre `value` was accepted by the schema of the plan
Passage passage_from_json(const nlohmann::json& value);

}  // namespace anfract
