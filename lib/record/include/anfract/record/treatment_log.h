#pragma once

#include <map>
#include <nlohmann/json_fwd.hpp>
#include <string>
#include <vector>

#include "anfract/base/result.h"
#include "anfract/record/store.h"

namespace anfract::record {

/// What was done at the chair, entry by entry, in the order in which it was acknowledged. Entries
/// are never changed or removed. Each carries the SHA-256 of its canonical text, which holds that
/// of the entry before it, so that a later change of any of them shows.
class TreatmentLog {
  public:
    explicit TreatmentLog(const Store& store) : store_(store) {}

    /// Stores entries of the anfract.log format, all or none. One whose `entry_id` is there already
    /// with equal content is acknowledged again and stored once. Keys that the format does not know
    /// are dropped.
    /// @param document  {"entries": [...]}, with or without `format` and `version`
    /// @return the entries as stored. Errors: BadInput names the key, NotFound (the case), Conflict
    /// (other content under the same id).
    Result<std::vector<nlohmann::json>> append(const std::string& case_id, nlohmann::json document,
                                               const std::string& author) const;

    enum class AlsoSetAside { No, Yes };
    /// All entries of a case, oldest first. Errors: NotFound, also for a case that was set aside
    /// unless those are wanted too.
    Result<std::vector<nlohmann::json>> entries(const std::string& case_id,
                                                AlsoSetAside also = AlsoSetAside::No) const;

  private:
    const Store& store_;
};

/// What the first entry of a case holds as the hash before it: that of the case's id.
std::string chain_start(const std::string& case_id);

/// Whether entries say what an entry can say, as those of a log that was not kept here need not.
/// Errors: BadInput.
Result<void> check_logged(const std::vector<nlohmann::json>& entries);

/// The position of the first entry whose hash, predecessor or number is not what it must be, or -1.
int first_broken_link(const std::string& case_id, const std::vector<nlohmann::json>& entries);

/// The log as it holds now: a corrected entry is replaced by its correction, which keeps the
/// corrected entry's kind, canal and moment unless it gives its own.
std::vector<nlohmann::json> corrected(const std::vector<nlohmann::json>& entries);

/// Depth in mm from the reference point of the latest `depth-measured` of each canal, corrections
/// taken into account; a correction without a depth takes the measurement back.
std::map<std::string, double> measured_depths_mm(const std::vector<nlohmann::json>& entries);

}  // namespace anfract::record
