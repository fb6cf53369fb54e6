#pragma once

#include <cstdint>
#include <memory>
#include <mutex>
#include <nlohmann/json.hpp>
#include <optional>
#include <string>

#include "anfract/base/result.h"
#include "anfract/record/record.h"
#include "anfract/tray/device.h"

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
    static Result<std::unique_ptr<TrayShelf>> open(const record::Record& record);

    /// The tray as it is. Errors: those of reading the stock or the stored tray, since a plan with
    /// the tray as it once was could name what is used up.
    Result<std::shared_ptr<const TrayNow>> now();

    /// Reads the text of an anfract.tray document. Errors: BadInput.
    static Result<TrayNow> check(const std::string& text, const std::string& where);

    /// Checks the text as an anfract.tray document and puts it in place of the tray. Errors:
    /// BadInput, Conflict when there is a stock, which then is what to change.
    Result<std::shared_ptr<const TrayNow>> replace(const std::string& text,
                                                   const std::string& author);

    /// The devices a stock can be begun with: those of the stored tray, or of the generic one.
    Result<nlohmann::json> devices_to_choose_from() const;

  private:
    explicit TrayShelf(const record::Record& record) : record_(record) {}
    /// The tray of the record, unless it is the one in `now_` or there is none.
    Result<std::optional<TrayNow>> stored() const;

    const record::Record& record_;
    mutable std::mutex mutex_;
    mutable std::string text_;  ///< what `now_` was made from; empty for the generic tray
    std::shared_ptr<const TrayNow> now_;
};

}  // namespace anfract::server
