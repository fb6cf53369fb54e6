#pragma once

#include <cmath>
#include <optional>
#include <string>
#include <tuple>
#include <vector>

#include "advance.h"
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
    double scouted_mm = 0;  ///< deepest place that a small hand file has been to
};

/// Sizes closer than this are the same.
constexpr double same_size_mm = 0.005;

/// Largest tip of a scout: hand files 006, 008 and 010.
constexpr double largest_scout_mm = 0.105;

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

/// The middle, by ratio, of the range of the torque over that which breaks the instrument; 0 by
/// hand.
double torque_share(const Device& device, const Passage& passage);

/// What the tip presses on the outer wall of a curve with, at more than the angle at which a ledge
/// begins; 0 otherwise.
double ledge_force_N(const Passage& passage, const OrderOptions& options);

/// True when the instrument is in a step of the state.
bool used(const ShapingState& state, const Device& device);

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
    /// The instrument taken down to `to_mm`, the upper part as a rule, no further than it goes by
    /// itself and than a small hand file has been.
    Result<Attempt> open(const ShapingState& state, const Device& device, double to_mm) const;
    /// A hand file taken as far as it goes, short of the working depth.
    Result<Attempt> descend(const ShapingState& state, const Device& device) const;
    /// The instrument as far as it goes by itself, in the canal of `state`.
    Result<Passage> rehearsed(const ShapingState& state, const Device& device) const;

    /// Largest tip that this canal may be given.
    double largest_tip_mm() const;
    /// True when the instrument would be a step up from where the state is.
    bool widens(const ShapingState& state, const Device& device) const;
    /// True when the passage ends at the working depth, within what the stations resolve.
    bool arrives(const Passage& passage) const;
    double working_depth_mm() const { return working_depth_mm_; }
    /// Twice the least distance from the native canal's line to its wall, down to the working
    /// depth.
    double narrowest_mm() const { return narrowest_mm_; }
    /// Where the straight upper part ends.
    double upper_part_mm() const { return open_to_mm_; }
    const Lumen& native() const { return native_; }

  private:
    RehearsalOptions rehearsal() const;
    /// The state after the instrument, held at `depth_mm` in the canal that its own passes have
    /// made.
    Result<ShapingState> with_step(const ShapingState& state, const Device& device,
                                   StepAction action, double depth_mm,
                                   const Advance& advance) const;
    void judge(Attempt& attempt, ShapingState next) const;

    const Lumen& native_;
    const OrderOptions& options_;
    double working_depth_mm_;
    double narrowest_mm_;  // of the native canal
    double open_to_mm_;
    double wall_to_mm_;
    double apical_third_mm_;
};

}  // namespace anfract
