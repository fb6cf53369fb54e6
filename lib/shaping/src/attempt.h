#pragma once

#include <optional>
#include <string>
#include <vector>

#include "anfract/shaping/order.h"

namespace anfract {

/// A canal on its way: what has been done and what that has cost.
struct ShapingState {
    Lumen lumen;
    std::vector<OrderStep> steps;
    double tip_mm = 0;  ///< largest that reached the working depth
    double taper = 0;
    double risk = 0;
    int opens = 0;
};

/// What came of trying one more instrument.
struct Attempt {
    std::optional<ShapingState> state;   ///< when it may be used
    SizeLimit limit = SizeLimit::Width;  ///< what forbids it otherwise
    std::string why;
    Passage passage;  ///< how far it would go by itself
};

/// Judges single instruments against the limits, always in the same way.
class Bench {
  public:
    /// Refers to its arguments, which must outlive it.
    Bench(const Lumen& native, const OrderOptions& options, double working_depth_mm);

    /// The instrument taken to the working depth.
    Result<Attempt> finish(const ShapingState& state, const Device& device) const;
    /// The instrument taken down the straight upper part only, no further than it goes by itself.
    Result<Attempt> open(const ShapingState& state, const Device& device) const;
    /// The instrument as far as it goes by itself, in the canal of `state`.
    Result<Passage> rehearsed(const ShapingState& state, const Device& device) const;

    /// True when the passage ends at the working depth, within what the stations resolve.
    bool arrives(const Passage& passage) const;
    double working_depth_mm() const { return working_depth_mm_; }
    const Lumen& native() const { return native_; }
    /// Adds a step at `depth_mm` without judging it, for a scout that ends short.
    Result<ShapingState> with_step(const ShapingState& state, const Device& device,
                                   StepAction action, double depth_mm) const;

  private:
    RehearsalOptions rehearsal() const;
    void judge(Attempt& attempt, ShapingState next) const;

    const Lumen& native_;
    const OrderOptions& options_;
    double working_depth_mm_;
    double open_to_mm_;
    double wall_to_mm_;
    double apical_third_mm_;
};

}  // namespace anfract
