#pragma once

#include <nlohmann/json_fwd.hpp>
#include <string>

#include "anfract/base/result.h"

namespace anfract::record {

/// Whether what a row of an archive says could have been stored here: notes, a kind of file, a
/// scan's description, a device and its pieces. Whoever reads it later relies on that.
/// @param row  a table's name and its columns, of the kinds that the table has
/// Errors: BadInput.
Result<void> check_archived_row(const nlohmann::json& row, const std::string& where);

}  // namespace anfract::record
