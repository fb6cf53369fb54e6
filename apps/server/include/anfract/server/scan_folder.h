#pragma once

#include <filesystem>
#include <string>
#include <vector>

#include "anfract/base/progress.h"
#include "anfract/base/result.h"
#include "anfract/record/case_archive.h"

namespace anfract::server {

/// The files of a scan that are not in the record: of one that a server has not taken over yet, and
/// of one that lies elsewhere, of which only those of its series are taken. Errors: NotFound when
/// it, or its files, are not there.
Result<std::vector<record::BesideFile>> scan_files(const std::filesystem::path& data,
                                                   const record::Record& record,
                                                   const std::string& scan_id);

/// Puts such files on the shelf of another data directory, by moving them; what lay elsewhere then
/// belongs to that directory. A scan of this id that is there already stays as it is. It appears
/// whole or not at all, also while a server runs there. Errors: BadInput, Io.
Result<void> place_scan_files(const std::filesystem::path& data, const std::string& scan_id,
                              const std::vector<record::BesideFile>& files);

/// Reads a scan and puts it on the shelf as a new one, by moving it there, a folder as one zip. A
/// server finds it when it starts.
/// @param path  a file, or a folder of files, on the disk of `data`
/// @return its id. Errors: those of open_scan, and Io; then it stays where it was.
Result<std::string> take_in_scan(const std::filesystem::path& data,
                                 const std::filesystem::path& path, const std::string& label,
                                 const Progress& progress);

}  // namespace anfract::server
