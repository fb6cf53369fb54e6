#pragma once

#include <nlohmann/json_fwd.hpp>

#include "anfract/base/result.h"
#include "anfract/record/difficulty.h"
#include "anfract/tooth/tooth.h"

namespace anfract::server {

/// What the record's rules need to know of a tooth. Errors: those of measure.
Result<std::vector<record::CanalAnatomy>> anatomy_of(const Tooth& tooth);

/// What follows from an anfract.case document and the tooth: {"icd10", "difficulty", "consent",
/// "recalls"}, see docs/http-api.md. Parts for which something is missing are empty.
nlohmann::json findings_of(const nlohmann::json& notes, const std::string& fdi,
                           const std::vector<record::CanalAnatomy>& canals);

}  // namespace anfract::server
