#pragma once

#include <filesystem>
#include <nlohmann/json_fwd.hpp>

#include "anfract/base/result.h"
#include "anfract/plan/plan.h"

namespace anfract {

nlohmann::json plan_to_json(const Plan& plan);

/// Reads a plan document; `where` names it in errors. Beyond the schema it checks that every
/// `passage` index points into the plan's own passages and that canals and devices are those of its
/// tooth and tray (BadInput).
Result<Plan> plan_from_json(const nlohmann::json& document, const std::string& where);

Result<Plan> read_plan(const std::filesystem::path& path);

/// Writes the file whole or not at all.
Result<void> write_plan(const std::filesystem::path& path, const Plan& plan);

}  // namespace anfract
