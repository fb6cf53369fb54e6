#include "stock_count.h"

#include <algorithm>
#include <set>

#include "anfract/record/instant.h"

namespace anfract::record {
namespace {

StockLot lot_of(const StockLevel& level, const std::string& name) {
    const auto lot = std::find_if(level.lots.begin(), level.lots.end(),
                                  [&](const StockLot& one) { return one.lot == name; });
    return lot == level.lots.end() ? StockLot{name, "", 0, false} : *lot;
}

Result<void> check(const std::vector<CountedLot>& counted, const StockLevel& level) {
    std::set<std::string> names;
    for (const CountedLot& one : counted) {
        if (!names.insert(one.lot).second)
            return fail(ErrorCode::BadInput, "is counted twice", one.place("lot"),
                        "give it one line");
        if (!one.expires.empty() && !parse_instant(one.expires + "T00:00:00Z"))
            return fail(ErrorCode::BadInput, "'" + one.expires + "' is no date",
                        one.place("expires"), "write it as 2026-01-31");
        const std::string known = lot_of(level, one.lot).expires;
        if (!one.expires.empty() && !known.empty() && one.expires != known)
            return fail(ErrorCode::BadInput, "expires on " + known + " as it was received",
                        one.place("expires"), "check the date, or count it as another lot");
    }
    return {};
}

StockMovement movement_of(const CountedLot& lot, std::int64_t difference) {
    StockMovement movement;
    movement.item = lot.item;
    movement.kind = difference > 0 ? "received" : "discarded";
    movement.lot = lot.lot;
    movement.expires = difference > 0 ? lot.expires : "";
    movement.count = std::abs(difference);
    movement.note = "counted";
    return movement;
}

}  // namespace

Result<std::vector<StockMovement>> movements_to(std::vector<CountedLot> wanted,
                                                const StockItem& item,
                                                std::vector<StockMovement> movements,
                                                const StockUse& use) {
    StockLevel level = level_of(item, movements, use, "");
    if (auto good = check(wanted, level); !good) return tl::unexpected(good.error());
    for (const StockLot& lot : level.lots) {
        const bool counted = std::any_of(wanted.begin(), wanted.end(),
                                         [&](const CountedLot& one) { return one.lot == lot.lot; });
        if (!counted) wanted.push_back({item.id, lot.lot, lot.expires, lot.pieces, {}});
    }
    const std::size_t before = movements.size();
    if (level.overdrawn > 0) {
        movements.push_back(movement_of({item.id, "", "", 0, {}}, level.overdrawn));
        level = level_of(item, movements, use, "");
    }
    // Pieces that are gone are taken from the lot that expires first, so that a new lot may take
    // them from another one: what that leaves too many of is put right in the next round.
    bool equal = false;
    for (int round = 0; round < 10 && !equal; ++round) {
        equal = true;
        for (const CountedLot& lot : wanted) {
            const std::int64_t difference = lot.pieces - lot_of(level, lot.lot).pieces;
            if (difference == 0) continue;
            movements.push_back(movement_of(lot, difference));
            level = level_of(item, movements, use, "");
            equal = false;
        }
    }
    if (!equal) {
        return fail(ErrorCode::Unsupported, "cannot be brought to what was counted",
                    "item " + item.id, "record what was received and discarded instead");
    }
    return std::vector<StockMovement>(movements.begin() + static_cast<std::ptrdiff_t>(before),
                                      movements.end());
}

}  // namespace anfract::record
