#pragma once

#include <vector>

#include "anfract/shaping/order.h"
#include "trials.h"

namespace anfract {

/// The first instrument that reaches the working depth in the untouched canal, from the smallest
/// up; none in an empty list.
struct Smallest {
    std::optional<Reach> reach;
    bool reaches = false;
};
Result<Smallest> smallest_that_reaches(const Bench& bench, const ShapingState& start,
                                       const Candidates& candidates, const Progress& progress);

/// True when the instrument is made to open the upper part.
bool opens_well(const Device& device, const OrderOptions& options);

/// Small hand files that find the way.
class Scouting {
  public:
    /// Refers to its arguments, which must outlive it.
    Scouting(const Bench& bench, const Candidates& candidates, const OrderOptions& options,
             Trials& trials);

    /// False when the tray has no small hand file.
    bool possible() const { return !scouts_.empty(); }

    /// Each scout in turn, from the smallest up. Where none gets down, the one that gets furthest
    /// makes what way it can, the upper part is opened as far as that, and they are tried again.
    /// A state whose `tip_mm` is 0 has not been to the working depth.
    Result<ShapingState> run(ShapingState state);

  private:
    Result<ShapingState> to_the_depth(ShapingState state);
    Result<ShapingState> as_far_as_it_goes(const ShapingState& state);
    std::vector<double> opening_depths(const ShapingState& state) const;
    Result<ShapingState> opened(const ShapingState& state);

    const Bench& bench_;
    const Candidates& candidates_;
    const OrderOptions& options_;
    Trials& trials_;
    Candidates scouts_;
};

}  // namespace anfract
