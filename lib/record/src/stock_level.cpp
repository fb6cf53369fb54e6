#include <algorithm>

#include "anfract/record/stock.h"

namespace anfract::record {
namespace {

/// Lots with all pieces ever received less those discarded, first to expire first; no date is last.
std::vector<StockLot> lots_of(const std::vector<StockMovement>& movements,
                              const std::string& today) {
    std::vector<StockLot> lots;
    for (const StockMovement& movement : movements) {
        if (movement.kind == "sterilised") continue;
        auto lot = std::find_if(lots.begin(), lots.end(),
                                [&](const StockLot& one) { return one.lot == movement.lot; });
        if (lot == lots.end()) lot = lots.insert(lot, {movement.lot, "", 0, false});
        if (movement.kind == "received") {
            lot->pieces += movement.count;
            if (!movement.expires.empty()) lot->expires = movement.expires;
        } else {
            lot->pieces -= movement.count;
        }
    }
    for (StockLot& lot : lots) lot.expired = !lot.expires.empty() && lot.expires < today;
    std::stable_sort(lots.begin(), lots.end(), [](const StockLot& a, const StockLot& b) {
        return std::pair(a.expires.empty(), a.expires) < std::pair(b.expires.empty(), b.expires);
    });
    return lots;
}

}  // namespace

std::int64_t StockItem::max_uses() const {
    return std::max<std::int64_t>(1, device.value("max_uses", std::int64_t{1}));
}

StockLevel level_of(const StockItem& item, const std::vector<StockMovement>& movements,
                    const StockUse& use, const std::string& today) {
    StockLevel level;
    level.item = item;
    level.lots = lots_of(movements, today);
    level.times_used = use.times;
    const std::int64_t each = item.max_uses();
    std::int64_t gone = each == 1 ? use.pieces : use.times / each + use.broken;
    for (StockLot& lot : level.lots) {
        const std::int64_t taken = std::clamp<std::int64_t>(lot.pieces, 0, gone);
        lot.pieces -= taken;
        gone -= taken;
        (lot.expired ? level.expired : level.pieces) += lot.pieces;
    }
    level.overdrawn = gone;
    std::erase_if(level.lots, [](const StockLot& lot) { return lot.pieces <= 0; });

    // A piece of a single use goes with its use and is never sterilised again.
    if (each > 1) {
        std::int64_t cycles = 0;
        for (const StockMovement& movement : movements) {
            if (movement.kind == "sterilised") cycles += movement.count;
        }
        level.to_sterilise =
            std::clamp<std::int64_t>(use.times - cycles, 0, level.pieces + level.expired);
    }
    level.ready = std::max<std::int64_t>(0, level.pieces - level.to_sterilise);
    level.uses_left =
        std::max<std::int64_t>(0, level.pieces * each - (level.pieces > 0 ? use.times % each : 0));
    return level;
}

}  // namespace anfract::record
