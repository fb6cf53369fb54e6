#pragma once

#include <cstdint>
#include <map>
#include <string>

#include "anfract/record/record.h"

namespace anfract::record {

/// How many pieces of each device the newest kept plans of the cases need that are not completed:
/// one of each device of a plan's orders, recapitulations and chosen passive devices. Plans that
/// cannot be read are left out. Errors: those of the store.
Result<std::map<std::string, std::int64_t>> pieces_of_coming_plans(const Record& record);

}  // namespace anfract::record
