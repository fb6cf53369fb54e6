#pragma once

#include <cstdint>
#include <nlohmann/json.hpp>
#include <optional>
#include <string>
#include <variant>
#include <vector>

#include "anfract/base/result.h"
#include "anfract/record/store.h"

namespace anfract::record {

/// One version of what was written down of a case.
struct NotesVersion {
    std::int64_t version = 0;  ///< 0: nothing was written yet
    std::string made;          ///< UTC, ISO 8601
    std::string author;
    nlohmann::json notes;  ///< an anfract.case document
};

/// Somebody else saved in the meantime; nothing was stored.
struct NotesConflict {
    NotesVersion theirs;
};

/// The anfract.case documents. A change is a new version; none is changed or removed.
class CaseNotes {
  public:
    explicit CaseNotes(const Store& store) : store_(store) {}

    /// A version, or the newest; before the first one an empty document. Errors: NotFound.
    Result<NotesVersion> find(const std::string& case_id,
                              std::optional<std::int64_t> version = {}) const;

    /// All versions without their documents, oldest first. Errors: NotFound.
    Result<std::vector<NotesVersion>> versions(const std::string& case_id) const;

    using Saved = std::variant<NotesVersion, NotesConflict>;
    /// Stores the next version. @param based_on  the version that was changed; when it is not the
    /// newest any more nothing is stored and both sides are known. A document equal to the newest
    /// is acknowledged without another version. Errors: BadInput names the key, NotFound.
    Result<Saved> save(const std::string& case_id, std::int64_t based_on, nlohmann::json notes,
                       const std::string& author) const;

  private:
    const Store& store_;
};

}  // namespace anfract::record
