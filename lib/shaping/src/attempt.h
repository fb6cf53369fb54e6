#pragma once

#include <cmath>
#include <optional>
#include <string>
#include <tuple>
#include <vector>

#include "anfract/shaping/order.h"

namespace anfract {

/// A canal on its way: what has been done and what that has cost.
struct ShapingState {
    Lumen lumen;
    std::vector<OrderStep> steps;
    double tip_mm = 0;  ///< largest that reached the working depth
    double taper = 0;
    double size_mm = 0;  ///< what the end is worth, see final_size_mm
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

/// What a final size is worth: its width 3 mm above the tip, where [ISO3630-1] measures it, with
/// the taper that counts.
double final_size_mm(const Device& device, const OrderOptions& options);

/// Better orders have smaller ranks: the larger final size, to half a hundredth, then less risk,
/// then fewer instruments.
inline auto rank_of(const ShapingState& state) {
    return std::tuple(-std::lround(state.size_mm * 200), state.risk, state.steps.size());
}

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
    /// Puts in place of each step's passage, found in a canal that ends at the step's depth, the
    /// device held at that depth in the whole canal.
    Result<void> hold_steps(std::vector<OrderStep>& steps) const;

  private:
    RehearsalOptions rehearsal() const;
    ShapingState with_step(const ShapingState& state, const Device& device, StepAction action,
                           double depth_mm, Passage passage, int passes) const;
    void judge(Attempt& attempt, ShapingState next) const;

    const Lumen& native_;
    const OrderOptions& options_;
    double working_depth_mm_;
    double open_to_mm_;
    double wall_to_mm_;
    double apical_third_mm_;
};

}  // namespace anfract
