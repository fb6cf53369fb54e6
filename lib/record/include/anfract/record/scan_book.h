#pragma once

#include <nlohmann/json_fwd.hpp>
#include <string>
#include <vector>

#include "anfract/base/result.h"
#include "anfract/record/store.h"

namespace anfract::record {

/// A scan on the list. The bytes of one that was sent lie in the vault under `sha256`.
struct KeptScan {
    std::string id;       ///< sixteen hexadecimal digits
    std::string created;  ///< UTC, ISO 8601
    std::string content;  ///< its description, JSON
    std::string name;     ///< of the file, whose ending tells the readers what it is
    std::string sha256;   ///< empty for one that was opened where it lies, outside
};

/// Whether a description says what one can say; one that came from elsewhere need not.
bool describes_scan(const nlohmann::json& description);

/// The list of scans.
class ScanBook {
  public:
    explicit ScanBook(const Store& store) : store_(store) {}

    /// Errors: Conflict when there is one of that id.
    Result<void> add(const KeptScan& scan) const;
    Result<std::vector<KeptScan>> list() const;  ///< latest first
    Result<KeptScan> find(const std::string& id) const;

    /// Gives a scan that lay outside a file in the vault, which then is its own. Errors: NotFound.
    Result<void> give_file(const KeptScan& scan) const;

    /// Takes a scan off the list, since a scan may be had again and fills disks. Errors: NotFound.
    /// @return true when no row names its file any more
    Result<bool> remove(const std::string& id) const;

  private:
    const Store& store_;
};

}  // namespace anfract::record
