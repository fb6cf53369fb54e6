#pragma once

#include <nlohmann/json_fwd.hpp>

#include "anfract/base/result.h"
#include "anfract/tracing/trace_session.h"

namespace anfract::server {

/// How a tooth was traced, as it is kept with its corrections.
nlohmann::json to_json(const TraceRequest& request);

/// Reads it. Errors: BadInput names the key.
Result<TraceRequest> trace_request_of(const nlohmann::json& node);

}  // namespace anfract::server
