#pragma once

#include <cstdint>
#include <map>
#include <nlohmann/json.hpp>
#include <optional>
#include <string>
#include <vector>

#include "anfract/base/result.h"
#include "anfract/record/store.h"

namespace anfract::record {

/// What the practice keeps of one device.
struct StockItem {
    std::string id;            ///< of the device
    nlohmann::json device;     ///< its description, as in an anfract.tray document
    std::int64_t minimum = 0;  ///< pieces below which it is to be ordered
    std::int64_t max_uses() const;
};

/// Something that happened to pieces of an item outside a treatment.
struct StockMovement {
    std::string item;
    std::string kind;     ///< received, sterilised, discarded
    std::string lot;      ///< of pieces received or discarded
    std::string expires;  ///< of pieces received: 2026-01-31, or empty
    std::int64_t count = 0;
    std::string note;  ///< number of the sterilisation cycle, reason
    std::string made;  ///< UTC; given by the program
    std::string author;
};

/// Uses of one item in the treatment logs.
struct StockUse {
    std::int64_t times = 0;   ///< visits in which it was used
    std::int64_t broken = 0;  ///< pieces that broke or were deformed
    std::int64_t pieces = 0;  ///< pieces that went if each serves once: one for each visit, or more
                              ///< where more broke
};

/// Pieces of one lot that are left.
struct StockLot {
    std::string lot, expires;
    std::int64_t pieces = 0;
    bool expired = false;
};

/// Where an item stands.
struct StockLevel {
    StockItem item;
    std::vector<StockLot> lots;     ///< first to expire first
    std::int64_t pieces = 0;        ///< not used up, broken, discarded or expired
    std::int64_t expired = 0;       ///< pieces past their date
    std::int64_t to_sterilise = 0;  ///< pieces used since their last sterilisation cycle
    std::int64_t ready = 0;         ///< pieces that may be used now
    std::int64_t uses_left = 0;     ///< of all pieces together
    std::int64_t times_used = 0;
    std::int64_t overdrawn = 0;  ///< pieces that were used beyond what was received: miscounted
};

/// The arithmetic of one item: pieces received less those used up, broken or discarded, taken from
/// the lot that expires first. A device of `max_uses` uses is used up after as many visits; one of
/// a single use after one.
/// @param today  2026-01-31
StockLevel level_of(const StockItem& item, const std::vector<StockMovement>& movements,
                    const StockUse& use, const std::string& today);

/// What is to be ordered.
struct ReorderLine {
    StockItem item;
    std::int64_t have = 0, minimum = 0, coming = 0;  ///< coming: pieces that open plans need
    std::int64_t order = 0;
};

/// Pieces of one lot as they were counted; a line of a CSV text.
struct CountedLot {
    std::string item, lot, expires;
    std::int64_t pieces = 0;
    std::optional<std::int64_t> minimum;  ///< none: as it was
    std::size_t line = 0;                 ///< of the text, from 1; 0: not from a text

    /// "line 3, column 'expires'", or the item and lot where it came from no text.
    std::string place(const std::string& column) const;
};

/// The stock: items, movements, and the uses that the treatment logs tell of. Movements are never
/// changed or removed; what was miscounted is corrected by another movement.
class Stock {
  public:
    explicit Stock(const Store& store) : store_(store) {}

    /// Adds an item or gives it a new description. Errors: BadInput.
    Result<void> put_item(const StockItem& item) const;

    /// Stores movements, all or none. Errors: BadInput (an item that is not there, a sterilisation
    /// cycle of an item of a single use, a count below 1, more discarded than there is).
    Result<void> move(const std::vector<StockMovement>& movements, const std::string& author) const;

    /// Brings lots to what was counted, by movements that make up for the difference, all or none.
    /// Lots that were not counted stay as they are. Errors: BadInput (an item that is not there, a
    /// lot that is named twice or expires on another date than was received).
    Result<void> count(const std::vector<CountedLot>& lots, const std::string& author) const;

    /// Every item, by id.
    Result<std::vector<StockLevel>> levels(const std::string& today) const;

    /// All movements of an item, oldest first.
    Result<std::vector<StockMovement>> movements(const std::string& item) const;

    /// Items of which fewer pieces would be left than their minimum once the coming plans are done.
    /// @param coming  pieces needed, by item
    Result<std::vector<ReorderLine>> reorder(const std::map<std::string, std::int64_t>& coming,
                                             const std::string& today) const;

    /// The items as an anfract.tray document with what is ready as `stock`; null when there are
    /// none.
    Result<nlohmann::json> tray(const std::string& today) const;

  private:
    const Store& store_;
};

/// A count of items and lots as CSV (RFC 4180) with the columns item, lot, expires, pieces,
/// minimum.
std::string stock_to_csv(const std::vector<StockLevel>& levels);

/// Reads such a text; columns may be in any order and others are ignored. Errors: BadInput names
/// line and column.
Result<std::vector<CountedLot>> stock_from_csv(const std::string& text);

}  // namespace anfract::record
