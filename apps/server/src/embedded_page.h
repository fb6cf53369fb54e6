#pragma once

#include <string_view>
#include <utility>
#include <vector>

namespace anfract::server {

/// The files of web/dist as they were when the program was built, by path; empty when the page was
/// not built.
std::vector<std::pair<std::string_view, std::string_view>> embedded_page();

}  // namespace anfract::server
