#pragma once

#include <vector>

#include "anfract/record/stock.h"

namespace anfract::record {

/// The movements after which an item stands at what was counted. Errors: BadInput.
Result<std::vector<StockMovement>> movements_to(std::vector<CountedLot> wanted,
                                                const StockItem& item,
                                                std::vector<StockMovement> movements,
                                                const StockUse& use);

}  // namespace anfract::record
