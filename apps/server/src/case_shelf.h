#pragma once

#include <map>
#include <memory>
#include <mutex>
#include <nlohmann/json.hpp>
#include <string>
#include <vector>

#include "anfract/base/result.h"
#include "anfract/record/record.h"
#include "anfract/tooth/tooth.h"
#include "case_work.h"

namespace anfract::server {

/// The cases of the record as teeth one can work on. All members may be called from any thread.
class CaseShelf {
  public:
    explicit CaseShelf(const record::Record& record) : record_(record) {}

    /// Stores a tooth as a new case. @param scan  the id of the scan it was traced in, or empty
    Result<CaseRecord> add(const Tooth& tooth, const std::string& scan, const std::string& label,
                           const std::string& author = "");

    /// Stores a tooth as the next version of a case's tooth; older versions stay. @param base  the
    /// version that was changed. Errors: NotFound, Conflict (it is not the newest any more).
    /// @return the new version's number
    Result<std::int64_t> change(const std::string& id, const Tooth& tooth, std::int64_t base,
                                const std::string& author = "");

    /// The case with the newest version of its tooth, read on first use. Errors: NotFound, and
    /// those of read_tooth.
    Result<std::shared_ptr<CaseWork>> find(const std::string& id);

    /// The latest working depths in the log of a case, of canals that its tooth has.
    Result<MeasuredDepths> measured_depths_mm(const CaseWork& work) const;

  private:
    const record::Record& record_;
    std::mutex mutex_;
    std::map<std::string, std::shared_ptr<CaseWork>> open_;  ///< newest version of each
};

}  // namespace anfract::server
