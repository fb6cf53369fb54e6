#pragma once

#include <map>
#include <string>
#include <string_view>

namespace anfract {

/// Format name ("anfract.tooth") to schema text; generated from api/ at build time.
const std::map<std::string, std::string_view>& embedded_schemas();

}  // namespace anfract
