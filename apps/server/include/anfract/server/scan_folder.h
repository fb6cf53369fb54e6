#pragma once

#include <filesystem>
#include <nlohmann/json_fwd.hpp>
#include <string>
#include <vector>

#include "anfract/base/progress.h"
#include "anfract/base/result.h"
#include "anfract/record/case_archive.h"

namespace anfract::server {

/// What the record keeps of a scan beside its file. Errors: BadInput, with `remedy`.
Result<nlohmann::json> description_of(const record::KeptScan& scan, const std::string& remedy);

/// The files of a scan that was opened where it lies, outside the record; of a folder those of its
/// series alone. None for one whose file the record has. Errors: NotFound when the scan, or its
/// files, are not there.
Result<std::vector<record::BesideFile>> scan_files(const record::Record& record,
                                                   const std::string& scan_id);

/// Makes such files, as unpacked from an archive, the record's own, a folder as one zip. A scan
/// that has its file already stays as it is. Errors: those of the record.
Result<void> adopt_scan_files(const record::Record& record, const std::string& scan_id,
                              const std::vector<record::BesideFile>& files,
                              const Progress& progress);

/// Reads a scan and puts it on the shelf as a new one, by moving it into the record, a folder as
/// one zip.
/// @param path  a file, or a folder of files
/// @return its id. Errors: those of open_scan and of the record; then it stays where it was.
Result<std::string> take_in_scan(const record::Record& record, const std::filesystem::path& path,
                                 const std::string& label, const Progress& progress);

}  // namespace anfract::server
