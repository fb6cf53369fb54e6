#pragma once

#include <soci/soci.h>

#include <set>
#include <string>

namespace anfract::record {

/// The hashes of all files of the vault that rows refer to.
std::set<std::string> named_files(soci::session& sql, int step);

}  // namespace anfract::record
