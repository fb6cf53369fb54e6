#pragma once

#include <nlohmann/json_fwd.hpp>
#include <string>

namespace anfract::record {

/// The one text of a JSON value that is hashed: the JSON Canonicalization Scheme of RFC 8785. Keys
/// sorted, no white space, numbers as ECMAScript writes them (20, 19.5, 1e+21).
/// @pre numbers are finite, text is UTF-8, keys are ASCII (the scheme sorts others by UTF-16)
std::string canonical_json(const nlohmann::json& value);

}  // namespace anfract::record
