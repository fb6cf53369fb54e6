#pragma once

#include <soci/soci.h>

#include <string>

#include "anfract/base/result.h"

namespace anfract::record {

/// Errors: NotFound when there is no case of that id, or it was set aside.
Result<void> require_case(soci::session& sql, const std::string& id);

Error no_such_case(const std::string& id);

}  // namespace anfract::record
