#pragma once

#include <string_view>
#include <utility>
#include <vector>

namespace anfract {

/// The files of lib/report/templates by name, generated at build time.
std::vector<std::pair<std::string_view, std::string_view>> built_in_templates();

}  // namespace anfract
