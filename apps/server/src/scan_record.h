#pragma once

#include <filesystem>
#include <nlohmann/json_fwd.hpp>
#include <string>

#include "anfract/base/result.h"
#include "anfract/record/scan_book.h"
#include "anfract/scan/dicom_study.h"
#include "anfract/scan/volume.h"

namespace anfract::server {

/// What the list says of a scan without reading its voxels.
struct ScanRecord {
    std::string id;
    std::string label;           ///< the name of the file or folder
    std::filesystem::path path;  ///< where the voxels are; for an upload, where link() leads to
    bool uploaded = false;       ///< the file belongs to the record
    std::string sha256;          ///< of an upload
    std::string series_uid;
    DicomStudy study;  ///< for the server's own use: it names the patient
    bool invented = false;
    GridGeometry geometry;
    double low_grey = 0, high_grey = 0;  ///< the range worth showing: 0.1 % and 99.9 % quantiles
    std::string created;                 ///< UTC, ISO 8601
};

/// The Scan of docs/http-api.md. The path stays in the server.
nlohmann::json to_json(const ScanRecord& record);

/// What the record keeps of it. The path of an upload follows from its file in the vault.
std::string content_of(const ScanRecord& record);

/// The scan that the record keeps. Where it was not made here, what it says may be anything.
/// @param folder  where link() leads to an upload's file
/// Errors: BadInput.
Result<ScanRecord> scan_record_of(const record::KeptScan& kept,
                                  const std::filesystem::path& folder);

/// Size, spacing, origin and direction as docs/http-api.md gives them.
nlohmann::json to_json(const GridGeometry& geometry);

}  // namespace anfract::server
