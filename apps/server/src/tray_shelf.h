#pragma once

#include <cstdint>
#include <memory>
#include <mutex>
#include <nlohmann/json.hpp>

#include "anfract/base/result.h"
#include "anfract/record/record.h"
#include "anfract/tray/device.h"
#include "data_directory.h"

namespace anfract::server {

/// A tray as it was at one moment. What is computed from it is kept under its revision.
struct TrayNow {
    Tray tray;
    nlohmann::json document;
    std::uint64_t revision = 0;
};

/// The one tray of the workspace: what is ready in stock, once there is a stock; before that the
/// stored tray, or the generic one until one has been stored.
class TrayShelf {
  public:
    /// Errors: those of reading a stored tray that has been damaged.
    static Result<std::unique_ptr<TrayShelf>> open(const DataDirectory& directory,
                                                   const record::Record& record);

    /// The tray as it is. When the stock cannot be read it is the tray as it was.
    std::shared_ptr<const TrayNow> now();

    /// Reads the text of an anfract.tray document. Errors: BadInput.
    static Result<TrayNow> check(const std::string& text, const std::string& where);

    /// Checks the text as an anfract.tray document and puts it in place of the tray. Errors:
    /// BadInput, Conflict when there is a stock, which then is what to change.
    Result<std::shared_ptr<const TrayNow>> replace(const std::string& text);

  private:
    TrayShelf(const DataDirectory& directory, const record::Record& record)
        : directory_(directory), record_(record) {}
    const DataDirectory& directory_;
    const record::Record& record_;
    std::mutex mutex_;
    std::shared_ptr<const TrayNow> now_;
};

}  // namespace anfract::server
