#pragma once

#include <nlohmann/json_fwd.hpp>

#include "anfract/plan/plan.h"

namespace anfract {

nlohmann::json canal_plan_to_json(const CanalPlan& canal);
nlohmann::json warning_to_json(const PlanWarning& warning);

/// Back from JSON. @pre the schema accepted the document
CanalPlan canal_plan_from_json(const nlohmann::json& value);
PlanWarning warning_from_json(const nlohmann::json& value);

}  // namespace anfract
