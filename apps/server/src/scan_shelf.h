#pragma once

#include <filesystem>
#include <mutex>
#include <nlohmann/json.hpp>
#include <string>
#include <vector>

#include "anfract/base/progress.h"
#include "anfract/base/result.h"
#include "anfract/record/record.h"
#include "anfract/scan/volume.h"
#include "data_directory.h"
#include "scan_cache.h"

namespace anfract::server {

/// What the list says of a scan without reading its voxels.
struct ScanRecord {
    std::string id;
    std::string label;           ///< the name of the file or folder
    std::filesystem::path path;  ///< where the voxels are; for an upload, where link() leads to
    bool uploaded = false;       ///< the file belongs to the record
    std::string sha256;          ///< of an upload
    std::string series_uid;
    bool invented = false;
    GridGeometry geometry;
    double low_grey = 0, high_grey = 0;  ///< the range worth showing: 0.1 % and 99.9 % quantiles
    std::string created;                 ///< UTC, ISO 8601
};

/// The Scan of docs/http-api.md. The path stays in the server.
nlohmann::json to_json(const ScanRecord& record);

/// What the record keeps of it. The path of an upload follows from its file in the vault.
std::string content_of(const ScanRecord& record);

/// Fills in what the voxels tell.
void describe(ScanRecord& record, const Volume& volume);

/// Size, spacing, origin and direction as docs/http-api.md gives them.
nlohmann::json to_json(const GridGeometry& geometry);

/// The scans of the workspace: their list and the uploaded files in the record, their voxels in
/// memory while they are used. All members may be called from any thread.
class ScanShelf {
  public:
    ScanShelf(const DataDirectory& directory, const record::Record& record,
              std::size_t memory_bytes);

    std::vector<ScanRecord> list() const;  ///< latest first
    Result<ScanRecord> find(const std::string& id) const;

    /// Reads a scan where it lies and puts it on the list; one that is there already is only read.
    /// Errors: those of open_scan.
    Result<ScanRecord> add(const std::filesystem::path& path, const std::string& series_uid,
                           const Progress& progress);

    /// The same for a file that was sent; on success it is moved into the record. `name` is
    /// the sender's name for it.
    Result<ScanRecord> add_upload(const std::filesystem::path& file, const std::string& name,
                                  const std::string& series_uid, const Progress& progress);

    /// The scan with its voxels, read again if they are not in memory.
    Result<SharedScan> open(const std::string& id, const Progress& progress);

    /// The anfract.survey document, made on first use and stored.
    Result<nlohmann::json> survey(const std::string& id, const Progress& progress);

    /// Takes it off the list; what was uploaded is deleted, a file elsewhere stays. Errors:
    /// NotFound, Io.
    Result<void> remove(const std::string& id);

  private:
    Result<ScanRecord> keep(ScanRecord record, Result<OpenedScan> opened);
    Result<void> link(const ScanRecord& record) const;
    std::filesystem::path folder(const std::string& id) const { return directory_.scans() / id; }

    const DataDirectory& directory_;
    const record::Record& record_;
    ScanCache cache_;
    std::mutex mutex_;         ///< so that no file is removed that is being taken in
    std::mutex survey_mutex_;  ///< one survey at a time, so that none is made twice
};

}  // namespace anfract::server
