#pragma once

#include <map>
#include <string>
#include <vector>

#include "attempt.h"
#include "candidates.h"

namespace anfract {

/// What a search has seen, kept for what is told beside the best order: other orders, and why each
/// instrument is not in it.
class Ledger {
  public:
    /// @param whole  the instrument was to go to the working depth
    void note_attempt(const Device& device, const ShapingState& from, const Attempt& attempt,
                      bool whole);
    /// An order that ends at the working depth.
    void note_order(const ShapingState& state);

    /// The best order with fewer instruments, and the least risky of a smaller size; at most one of
    /// each kind, none that is no better in what it is named for.
    std::vector<AlternativeOrder> alternatives(const ShapingState& best) const;

    /// Every instrument that `best` does without, with the reason.
    std::vector<UnusedInstrument> unused(const ShapingState& best, const Shortlist& shortlist,
                                         double largest_tip_mm, const OrderOptions& options) const;

  private:
    struct Refusal {
        double size_mm = -1;  ///< of the canal it was refused in
        bool whole = false;
        std::string why;
    };
    std::map<std::string, Refusal> refusals_;  ///< the last for each id
    /// The least risky order of each size and count.
    std::map<std::pair<long, std::size_t>, ShapingState> orders_;
    std::map<std::string, ShapingState> best_with_;  ///< the best order with each instrument
};

}  // namespace anfract
