#pragma once

#include <soci/soci.h>

#include <nlohmann/json_fwd.hpp>
#include <stdexcept>
#include <string>
#include <string_view>

#include "anfract/base/result.h"

namespace anfract::record {

/// Errors: NotFound when there is no case of that id, or it was set aside.
Result<void> require_case(soci::session& sql, const std::string& id);

Error no_such_case(const std::string& id);

/// A document in the database that cannot have been put there by this program; a transaction ends
/// with a sentence about it.
struct DamagedDocument : std::runtime_error {
    using std::runtime_error::runtime_error;
};

/// JSON as the record keeps it. Throws DamagedDocument when it is none, or nested too deep: rows
/// come from archives and backups too.
nlohmann::json kept_json(std::string_view text);

}  // namespace anfract::record
