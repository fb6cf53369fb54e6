#pragma once

#include <map>
#include <optional>
#include <string>

#include "anfract/record/accounts.h"

namespace anfract::server {

/// Who may use a route, and whether it shows what is known of a patient, so that its use is
/// recorded.
struct AccessRule {
    std::optional<record::Role> least;  ///< none: everybody, also before signing in
    bool shows_patient = false;
};

/// The rule of every route, by its name ("GET /api/cases/{id}"). A route that is not in it is
/// refused to everybody once there are accounts.
const std::map<std::string, AccessRule>& access_rules();

}  // namespace anfract::server
