#pragma once

#include <cstdint>
#include <filesystem>
#include <memory>
#include <string>
#include <vector>

#include "anfract/base/progress.h"
#include "anfract/base/result.h"
#include "anfract/record/record.h"

namespace anfract::record {

/// A file that lies beside the record, such as one of a scan, and its name in an archive: plain
/// names joined by '/'.
struct BesideFile {
    std::string name;
    std::filesystem::path path;
};

/// What an archive holds, or what was taken over from one.
struct CaseArchiveReport {
    std::string case_id;
    std::int64_t rows = 0, files = 0, bytes = 0;
    bool was_there = false;  ///< the record had the case already, equal in every row
};

/// Writes all of one case into one zip: every version of its files and notes, its log with the
/// chain of hashes, the stock lines of the devices its log tells of, and `beside`. The record may
/// be in use; its part is of one moment. `manifest.json` names each file with its SHA-256.
///
/// @param zip  replaced if it is there; written whole or not at all
/// Errors: NotFound (no such case), BadInput (a file has changed in the vault, a name in `beside`
/// that is not plain), Io, DiskFull, Cancelled.
Result<CaseArchiveReport> export_case(const Record& record, const std::string& case_id,
                                      const std::vector<BesideFile>& beside,
                                      const std::filesystem::path& zip, const Progress& progress);

/// A case's archive, unpacked into a private folder and checked: each file against its hash, the
/// rows against the schema of the program that wrote them, the log against its chain, what was
/// written down against its format. An older schema has been brought forward. The folder goes with
/// it.
class CaseArchive {
  public:
    /// @param near  the folder in which the private one is made: on the disk of the record, so that
    /// files can be moved into place
    /// Errors: BadInput (not an archive, cut short, changed, a name that leads elsewhere, far more
    /// than its size can hold, a newer program's), Io, DiskFull, Cancelled. Nothing is left behind.
    static Result<std::unique_ptr<CaseArchive>> open(const std::filesystem::path& zip,
                                                     const std::filesystem::path& near,
                                                     const Progress& progress);
    ~CaseArchive();
    CaseArchive(const CaseArchive&) = delete;
    CaseArchive& operator=(const CaseArchive&) = delete;

    const std::string& case_id() const;
    const std::string& scan_id() const;  ///< of the scan it was traced in; may be empty
    /// The files that lay beside the record, as unpacked; they may be moved away.
    const std::vector<BesideFile>& beside() const;

    /// Takes the case into a record. The rows are read back and must be those of the archive, byte
    /// for byte, before they count. A record that has the case already stays as it is. Stock items
    /// that are there already keep their description and movements.
    /// Errors: Conflict (there is another case of this id, or the same with other content), those
    /// of the store.
    Result<CaseArchiveReport> put_into(const Record& record) const;

  private:
    struct Content;
    explicit CaseArchive(std::unique_ptr<Content> content);
    std::unique_ptr<Content> content_;
};

}  // namespace anfract::record
