#pragma once

#include <filesystem>
#include <mutex>
#include <nlohmann/json.hpp>
#include <string>
#include <vector>

#include "anfract/base/progress.h"
#include "anfract/base/result.h"
#include "anfract/record/record.h"
#include "anfract/scan/read_scan.h"
#include "data_directory.h"
#include "scan_cache.h"
#include "scan_record.h"

namespace anfract::server {

/// Fills in what the file tells.
void describe(ScanRecord& record, const OpenedScan& scan);

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
