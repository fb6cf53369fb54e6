#pragma once

#include <nlohmann/json_fwd.hpp>
#include <string>
#include <vector>

#include "anfract/passage/passage.h"

namespace anfract {

/// One entry of an anfract.passages document; the profile only if `with_profile`.
nlohmann::json passage_to_json(const Passage& passage, bool with_profile);

/// A whole anfract.passages document of the tooth `fdi` ("" when not known).
nlohmann::json passages_to_json(const std::vector<Passage>& passages, const std::string& fdi,
                                bool with_profiles);

}  // namespace anfract
