#pragma once

#include "anfract/base/result.h"
#include "anfract/record/record.h"
#include "data_directory.h"

namespace anfract::server {

/// Takes cases that the first version of the program kept as `cases/ID/{case.json, tooth.json}`
/// over into the record, under the same ids and dates, and moves their folders to `taken-over/ID`.
/// May be interrupted and run again. Folders that cannot be read stay where they are. Errors: those
/// of the record.
Result<void> take_over_first_folders(const DataDirectory& directory, const record::Record& record);

}  // namespace anfract::server
