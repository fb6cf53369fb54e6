#pragma once

#include <nlohmann/json_fwd.hpp>

#include "anfract/plan/plan.h"

namespace anfract {

/// The parts of a canal's plan that came with later versions: all optional keys.
nlohmann::json risks_to_json(const PlanRisks& risks);
PlanRisks risks_from_json(const nlohmann::json& value);
nlohmann::json removal_to_json(const Removal& removal);
Removal removal_from_json(const nlohmann::json& value);
nlohmann::json sheet_to_json(const SheetBeforeAndAfter& sheet);
SheetBeforeAndAfter sheet_from_json(const nlohmann::json& value);

}  // namespace anfract
