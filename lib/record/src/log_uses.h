#pragma once

#include <soci/soci.h>

#include <nlohmann/json_fwd.hpp>
#include <string>

namespace anfract::record {

/// Keeps what the stock counts of a log entry: that a device was used, broken or deformed at a
/// visit (a day). A correction takes the place of the entry it corrects.
void count_use(soci::session& sql, const std::string& case_id, const nlohmann::json& entry);

/// Does so for all entries, when a record comes forward to the step that counts.
void count_uses_of_old_logs(soci::session& sql);

}  // namespace anfract::record
