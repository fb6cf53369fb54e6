#pragma once

#include <string>

#include "anfract/record/access_trail.h"

namespace anfract::record {

/// Writes a look at a patient into the trail, on the disk, before anything is shown. Errors: those
/// of the store, saying that nothing is shown for it.
Result<void> record_look(const AccessTrail& trail, const std::string& account,
                         const std::string& what, const std::string& subject);

}  // namespace anfract::record
