#pragma once

#include <nlohmann/json_fwd.hpp>
#include <optional>
#include <string>

#include "anfract/base/result.h"
#include "anfract/geometry/vec.h"
#include "anfract/http/message.h"

namespace anfract::server {

/// The body as a JSON object. Errors: BadInput.
Result<nlohmann::json> object_of(const http::Request& request);

/// A point under `key`, three finite numbers in mm. Errors: BadInput names the key.
Result<Vec3> point_of(const nlohmann::json& object, const std::string& key);

/// Members that may be missing; a wrong type is BadInput that names the key.
Result<std::optional<std::string>> optional_text(const nlohmann::json& object,
                                                 const std::string& key);
Result<std::optional<double>> optional_number(const nlohmann::json& object, const std::string& key);
/// The same, but it must be there.
Result<std::string> text_of(const nlohmann::json& object, const std::string& key);

nlohmann::json to_json(const Vec3& vector);

/// An answer of type application/json. Text that is not UTF-8 (file names) is repaired rather than
/// refused.
http::Response json_response(int status, const nlohmann::json& body);

/// The answer to a request that began a job: its id, or 503 when too many are in line.
http::Response job_response(const std::optional<std::string>& job);

}  // namespace anfract::server
