#pragma once

#include <nlohmann/json.hpp>
#include <string>

#include "anfract/base/result.h"
#include "anfract/tooth/tooth.h"

namespace anfract {

Vec3 vec3_from(const nlohmann::json& node);
nlohmann::json vec3_to(const Vec3& vector);

/// One element of `canals`; `key` is its path in the document, `where` the file. Checks only that
/// the arrays belong together; throws json::exception for a document that does not follow the
/// schema.
Result<Canal> canal_from_json(const nlohmann::json& node, const std::string& key,
                              const std::string& where);

nlohmann::json canal_to_json(const Canal& canal);

}  // namespace anfract
