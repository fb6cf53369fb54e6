#pragma once

#include <nlohmann/json_fwd.hpp>
#include <optional>
#include <string>

#include "anfract/base/result.h"
#include "anfract/passage/rehearse.h"

namespace anfract::server {

/// What is asked of one device in one canal.
struct Rehearsal {
    std::string canal, device;
    RehearsalOptions how;
    std::optional<double> tip_depth_mm;
};

/// The body of docs/http-api.md. Errors: BadInput names the key.
Result<Rehearsal> rehearsal_of(const nlohmann::json& body);

}  // namespace anfract::server
