#pragma once

#include <cstddef>
#include <nlohmann/json_fwd.hpp>
#include <string_view>

#include "anfract/base/result.h"

namespace anfract {

/// The deepest nesting of arrays and objects that is read. What works on a document calls itself
/// once for each level, so that without a limit a short text could use up the stack.
constexpr std::size_t json_depth_limit = 64;

/// Parses JSON text (UTF-8) of any format; every text from outside goes through here.
///
/// @param where   name for error messages, usually the file
/// @return the value; BadInput says at which byte and key the text is not JSON, or that it is
/// nested
///         deeper than `json_depth_limit`
Result<nlohmann::json> parse_json(std::string_view text, std::string_view where);

}  // namespace anfract
