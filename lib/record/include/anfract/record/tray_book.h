#pragma once

#include <optional>
#include <string>

#include "anfract/base/result.h"
#include "anfract/record/store.h"

namespace anfract::record {

/// The trays that were stored, as anfract.tray documents; the newest is in use until there is a
/// stock. None is changed or removed.
class TrayBook {
  public:
    explicit TrayBook(const Store& store) : store_(store) {}

    Result<std::optional<std::string>> newest() const;
    Result<void> add(const std::string& content, const std::string& author) const;

  private:
    const Store& store_;
};

}  // namespace anfract::record
