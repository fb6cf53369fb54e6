#pragma once

#include <filesystem>
#include <string>
#include <vector>

#include "anfract/base/progress.h"
#include "anfract/base/result.h"
#include "anfract/scan/read_scan.h"
#include "dicom_file.h"

namespace anfract {

/// The DICOM images found in some files, and the words for what was left out.
struct DicomFind {
    std::vector<DicomFile> images;
    std::vector<std::string> problems;
    std::vector<std::string> complaints;  ///< broken or unsupported images, with their names
};

/// Looks at every file, on `threads` threads.
Result<DicomFind> look_at_files(const std::vector<std::filesystem::path>& paths, unsigned threads,
                                const Progress& progress);

/// The series the images belong to, in the order of their UIDs.
std::vector<SeriesInfo> series_of(const std::vector<DicomFile>& images);

/// Keeps the images of the wished series, or of the only one. Errors list the series there are.
Result<std::vector<DicomFile>> choose_series(std::vector<DicomFile> images,
                                             const std::string& wished_uid,
                                             const std::string& where);

}  // namespace anfract
