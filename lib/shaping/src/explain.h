#pragma once

#include <string>

#include "anfract/shaping/order.h"
#include "trials.h"

namespace anfract {

/// Says why an order ends where it ends, and what one more instrument would change.
class Explain {
  public:
    /// Refers to its arguments, which must outlive it.
    Explain(const Bench& bench, const Tray& tray, const Candidates& candidates,
            const OrderOptions& options, Trials& trials)
        : bench_(bench), tray_(tray), candidates_(candidates), options_(options), trials_(trials) {}

    /// What the next larger size would run into: of its tapers and kinds the one that gets
    /// furthest.
    Result<void> limit(const ShapingState& best, Order& order) const;

    /// One sentence on the instrument that would take the canal furthest beyond the best order: one
    /// that is too short or out of stock, at the length needed, or one of the tray in heat-treated
    /// alloy; empty when there is none.
    Result<std::string> missing(const ShapingState& best) const;

  private:
    std::vector<Device> lacking(const ShapingState& best) const;
    bool stocked(const Device& device) const;

    const Bench& bench_;
    const Tray& tray_;
    const Candidates& candidates_;
    const OrderOptions& options_;
    Trials& trials_;
};

}  // namespace anfract
