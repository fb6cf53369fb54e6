#pragma once

#include <nlohmann/json_fwd.hpp>
#include <string>
#include <string_view>

#include "anfract/base/result.h"

namespace anfract::cli {

/// write_document to the file that `out` names; "-" is the standard output.
Result<void> deliver(const std::string& out, const nlohmann::json& document,
                     std::string_view format);

}  // namespace anfract::cli
