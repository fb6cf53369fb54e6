#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "anfract/base/result.h"
#include "anfract/record/store.h"

namespace anfract::record {

/// One line of the trail.
struct Access {
    std::int64_t sequence = 0;  ///< from 1, given by the trail
    std::string at;             ///< UTC, ISO 8601; given by the trail unless it was earlier
    std::string account;        ///< who; empty: the one user of a record without accounts
    std::string what;           ///< "GET /api/cases/{id}/plan", "sign-in", "sign-in refused", ...
    std::string subject;        ///< the id of the case or scan, or what was asked for
    std::string previous_sha256, sha256;
};

/// Who looked at what, and who signed in. Lines are never changed or removed; each holds the hash
/// of the one before it, as entries of the treatment log do.
class AccessTrail {
  public:
    explicit AccessTrail(const Store& store) : store_(store) {}

    /// Adds lines, all or none; numbers and hashes are given to them.
    Result<void> add(const std::vector<Access>& lines) const;

    /// The newest lines first. @param account, subject  only those lines, unless empty
    Result<std::vector<Access>> lines(const std::string& account = "",
                                      const std::string& subject = "",
                                      std::int64_t limit = 1000) const;

    /// The number of the first line whose hash, predecessor or number is not what it must be, or 0.
    Result<std::int64_t> first_broken() const;

  private:
    const Store& store_;
};

}  // namespace anfract::record
