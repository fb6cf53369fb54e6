#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "anfract/base/result.h"
#include "anfract/record/file_vault.h"
#include "anfract/record/store.h"

namespace anfract::record {

/// A case as it appears in lists.
struct CaseEntry {
    std::string id;       ///< sixteen hexadecimal digits
    std::string created;  ///< UTC, ISO 8601
    std::string scan;     ///< id of the scan it was traced in; may be empty
    std::string fdi;      ///< tooth by ISO 3950
    std::string label;
    bool invented = false;
};

/// One version of a file of a case. Its bytes lie in the vault under `sha256`.
struct CaseFile {
    std::string kind;  ///< "tooth", "plan", "letter", "picture", ...
    std::int64_t version = 0;
    std::string made;  ///< UTC, ISO 8601
    std::string author;
    std::string name;
    std::string media_type;
    std::string sha256;
    std::int64_t bytes = 0;
};

/// A file to be stored.
struct NewCaseFile {
    std::string kind;
    std::string bytes;
    std::string name = "";
    std::string media_type = "application/json";
};

/// The cases and their files. Files have versions; none is changed or removed.
class CaseBook {
  public:
    CaseBook(const Store& store, const FileVault& vault) : store_(store), vault_(vault) {}

    /// A new case with its first file. @param entry  with id and date, or without for new ones
    /// Errors: Conflict when there is a case of that id; those of the store.
    Result<CaseEntry> add(CaseEntry entry, const NewCaseFile& file,
                          const std::string& author) const;

    /// Latest first. @param words  parts of words that must all appear in the label, the tooth's
    /// number, the patient's name or reference, or the diagnosis; in any case
    Result<std::vector<CaseEntry>> list(const std::string& words = "", std::int64_t limit = -1,
                                        std::int64_t offset = 0) const;

    /// Errors: NotFound, also for one that was set aside.
    Result<CaseEntry> find(const std::string& id) const;

    /// Takes a case off the lists; nothing of it is removed. Errors: NotFound.
    Result<void> set_aside(const std::string& id) const;
    /// The opposite. Errors: NotFound.
    Result<void> bring_back(const std::string& id) const;

    /// The next version of a file. @param base  the version it was made from; when that is not the
    /// newest any more the answer is Conflict. Without it the file is added whatever is there.
    Result<CaseFile> add_file(const std::string& id, const NewCaseFile& file,
                              const std::string& author,
                              std::optional<std::int64_t> base = {}) const;

    /// All versions of all files of a case, by kind and version.
    Result<std::vector<CaseFile>> files(const std::string& id) const;
    /// A version of a file, or the newest. Errors: NotFound.
    Result<CaseFile> file(const std::string& id, const std::string& kind,
                          std::optional<std::int64_t> version = {}) const;

  private:
    const Store& store_;
    const FileVault& vault_;
};

}  // namespace anfract::record
