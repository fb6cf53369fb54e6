#pragma once

#include <string_view>
#include <utility>
#include <vector>

namespace anfract {

/// The schemas of api/ by file name, generated at build time.
std::vector<std::pair<std::string_view, std::string_view>> embedded_schemas();

}  // namespace anfract
