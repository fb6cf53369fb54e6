#pragma once

#include <cstdint>
#include <memory>
#include <mutex>
#include <nlohmann/json.hpp>

#include "anfract/base/result.h"
#include "anfract/tray/device.h"
#include "data_directory.h"

namespace anfract::server {

/// A tray as it was at one moment. What is computed from it is kept under its revision.
struct TrayNow {
    Tray tray;
    nlohmann::json document;
    std::uint64_t revision = 0;
};

/// The one tray of the workspace: the stored one, or the generic tray until one has been stored.
class TrayShelf {
  public:
    /// Errors: those of reading a stored tray that has been damaged.
    static Result<std::unique_ptr<TrayShelf>> open(const DataDirectory& directory);

    std::shared_ptr<const TrayNow> now() const;

    /// Checks the text as an anfract.tray document and puts it in place of the tray.
    Result<std::shared_ptr<const TrayNow>> replace(const std::string& text);

  private:
    explicit TrayShelf(const DataDirectory& directory) : directory_(directory) {}
    const DataDirectory& directory_;
    mutable std::mutex mutex_;
    std::shared_ptr<const TrayNow> now_;
};

}  // namespace anfract::server
