#pragma once

#include <nlohmann/json_fwd.hpp>
#include <vector>

#include "anfract/base/result.h"
#include "anfract/record/stock.h"

namespace anfract::server {

/// The movements of an object of docs/http-api.md. Errors: BadInput names the movement.
Result<std::vector<record::StockMovement>> movements_of(const nlohmann::json& body);

}  // namespace anfract::server
