#pragma once

#include <map>
#include <memory>
#include <mutex>
#include <nlohmann/json.hpp>
#include <string>
#include <vector>

#include "anfract/base/result.h"
#include "anfract/tooth/tooth.h"
#include "case_work.h"
#include "data_directory.h"

namespace anfract::server {

/// The stored cases. All members may be called from any thread.
class CaseShelf {
  public:
    /// Cases that cannot be read are left out of the list, not removed.
    explicit CaseShelf(const DataDirectory& directory);

    /// Latest first.
    std::vector<CaseRecord> list() const;

    /// Stores a tooth as a new case. @param scan  the id of the scan it was traced in, or empty
    Result<CaseRecord> add(const Tooth& tooth, const std::string& scan, const std::string& label);

    /// The case with its tooth, read on first use. Errors: NotFound, and those of read_tooth.
    Result<std::shared_ptr<CaseWork>> find(const std::string& id);

    /// Errors: NotFound, Io.
    Result<void> remove(const std::string& id);

  private:
    const DataDirectory& directory_;
    mutable std::mutex mutex_;
    std::map<std::string, CaseRecord> records_;
    std::map<std::string, std::shared_ptr<CaseWork>> open_;
};

}  // namespace anfract::server
