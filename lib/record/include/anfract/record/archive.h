#pragma once

#include <cstdint>
#include <filesystem>
#include <string>
#include <vector>

#include "anfract/base/progress.h"
#include "anfract/base/result.h"
#include "anfract/record/record.h"

namespace anfract::record {

/// What was found when a record was gone through.
struct CheckReport {
    std::int64_t cases = 0, entries = 0, files = 0, file_bytes = 0;
    std::int64_t unnamed_files = 0;     ///< files that nothing refers to: harmless, after a kill
    std::vector<std::string> problems;  ///< one sentence each; empty: all is in order
};

/// Goes through the whole record: the database's own check, every file against its hash, every log
/// against its chain, every document as JSON. Changes nothing.
Result<CheckReport> check(const Record& record, const Progress& progress = {});

/// What a backup or a restore has dealt with.
struct ArchiveReport {
    std::int64_t rows = 0, files = 0, bytes = 0;
};

/// Copies a record, which may be in use, into a new folder: `rows.jsonl` (every row, as of one
/// moment), `files/`, and last `manifest.json` with the hash of each. Errors: BadInput (there is
/// something at `folder`), Io, DiskFull, Cancelled; then nothing is left there.
Result<ArchiveReport> backup(const Record& record, const std::filesystem::path& folder,
                             const Progress& progress = {});

/// Makes a record from a backup at a place where there is none, or an empty one. Every file is
/// checked against its hash before it is taken over; afterwards the rows are read back and must be
/// those of the backup, byte for byte. Errors: BadInput (no or a damaged backup, the place is not
/// empty, a newer program's backup), Io, DiskFull, Cancelled.
Result<ArchiveReport> restore(const std::filesystem::path& folder, const RecordPlace& place,
                              const Progress& progress = {});

}  // namespace anfract::record
