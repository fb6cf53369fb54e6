#pragma once

#include <optional>
#include <string>
#include <vector>

#include "anfract/base/progress.h"
#include "anfract/base/result.h"
#include "anfract/passage/lumen.h"
#include "anfract/passage/passage.h"
#include "anfract/passage/rehearse.h"
#include "anfract/shaping/shape_measures.h"
#include "anfract/tray/device.h"

namespace anfract {

/// What a step of the order is for.
enum class StepAction {
    Scout,   ///< find the way with a small hand file, without cutting to speak of
    Open,    ///< widen the upper part only, so that what follows has less to push through
    Shape,   ///< widen the canal on the way to its final size
    Finish,  ///< the final size, to the working depth
};

/// What keeps the final size from being larger.
enum class SizeLimit { Strain, Wall, Curve, Force, Width, Tray, Enough };

std::string to_string(StepAction action);
std::string to_string(SizeLimit limit);

/// Limits an order must keep and habits it follows. Each default names its source.
struct OrderOptions {
    double working_depth_mm = 0;  ///< 0: 0.5 mm above the last station (common practice, no source)
    Access access = Access::Axial;
    double friction = 0.2;
    /// Length of an instrument that must stay above the reference point for its stop (common
    /// practice, no source).
    double stop_room_mm = 2.0;
    /// Dentine that must be left [LimStock1987, from memory], before the error of the measurement
    /// is added.
    double wall_least_mm = 0.3;
    /// The last millimetres before the foramen, where every root thins out, are left out of
    /// account.
    double wall_to_foramen_mm = 2.0;
    double wall_error_mm = 0.1;  ///< error of the wall's measurement, added to the limit
    /// Transport above which apical leakage was seen to rise [WuEtAl2000, from memory].
    double transport_most_mm = 0.3;
    /// Final tip at most this much wider than the native canal at the working depth: three steps of
    /// 0.05 mm beyond the first file that fits (common practice, no source).
    double enough_wider_mm = 0.15;
    double enough_taper = 0.06;
    /// A final taper counts up to this: more of it asks more of the coronal wall and cleans no
    /// better below (a judgement of ours).
    double taper_that_counts = 0.04;
    /// Turns a rotating instrument makes at its depth in one canal: 20 s at 300 a minute, in a few
    /// short strokes (common practice, no source).
    double turns = 100;
    /// Most of an instrument's life, at the low estimate, that one canal may use. A limit of ours;
    /// with the strain-life law of the passage it keeps sharply bent canals at the sizes that
    /// experienced hands keep to (common practice, no source).
    double life_used_most = 0.5;
    /// Most of the torque that breaks it which an instrument may be twisted by, the middle (by
    /// ratio) of the passage's range. All torque is held against the thinnest bound section, which
    /// overstates it, so that 1 is on the safe side (a limit of ours).
    double torque_share_most = 1.0;
    /// A tip that presses harder than this on the outer wall of a curve, at more than that angle,
    /// begins a ledge there (limits of ours; scouts are exempt, being bent to the curve
    /// beforehand).
    double ledge_force_most_N = 1.0;
    double ledge_angle_deg = 5;
    /// Most length along which an instrument may fill the canal before it locks (a limit of ours).
    double bound_most_mm = 10;
    /// Most bending strain of a steel file that shapes: beyond its elastic limit, about 0.8 %, it
    /// keeps the bend and pulls the canal straight. Two and a half times that is a limit of ours;
    /// scouts are exempt.
    double steel_strain_most = 0.02;
    /// Most bending strain of a rotating instrument: a wire recovers 6 % for 100 and 4 % for
    /// 100,000 cycles (handbook), and the bend may be sharper than traced. Between the two, where
    /// severe bends end at the sizes of experienced hands (common practice, no source): 6 % less a
    /// tenth of error in the bend, 95 in 100, would be 5.15 %, and let larger files round bends of
    /// 3 mm than those hands take there.
    double rotating_strain_most = 0.045;
    /// Times an instrument may go in, cutting at each what stopped it (common practice, no source).
    int most_passes = 4;
    int beam_width = 3;
    int most_steps = 6;  ///< after scouting
    unsigned threads = 0;
};

/// One instrument of an order with the canal it leaves.
struct OrderStep {
    StepAction action = StepAction::Scout;
    Device device;
    Passage passage;  ///< held at `depth_mm` in the canal as it was before the step
    double depth_mm = 0;
    double diameter_after_mm = 0;  ///< at depth_mm
    std::optional<AtDepth> wall_left;
    AtDepth transport;               ///< by this step
    std::optional<double> centring;  ///< [GambillEtAl1996] there; 1 is perfect, none: nothing taken
    double removed_mm3 = 0;
    double untouched_share =
        1;                 ///< of the wall down to the working depth, by this and the steps before
    int passes = 1;        ///< times it goes in, cutting a little each time
    double bound_mm = 0;   ///< length along which it fills the canal
    double life_used = 0;  ///< turns over those it stands at the low estimate; 0 if it does not
                           ///< turn; earlier cases not counted
    double risk = 0;       ///< of this step, see shaping.md; only for comparing orders
};

/// How far one instrument goes in the untouched canal.
struct Reach {
    Device device;
    Passage passage;
};

/// Another order for the same canal, simpler than the best and riskier or less wide.
struct AlternativeOrder {
    enum class Kind {
        Brief,   ///< fewer instruments
        Gentle,  ///< a smaller final size for less risk
    };
    Kind kind = Kind::Brief;
    std::vector<OrderStep> steps;
    double risk = 0;
};

/// An instrument of the tray that the order does without.
struct UnusedInstrument {
    enum class Because {
        Limit,    ///< a limit in this canal keeps it out
        Outdone,  ///< it could be used, and no order with it is as good
        Size,     ///< it does not fit what goes down before it, or the largest size wanted
        Length,   ///< it is too short
        Twin,     ///< one like it stands for it
        Stock,    ///< none is left
    };
    std::string device;
    Because because = Because::Limit;
    std::string why;  ///< one sentence with its number
};

/// An order of instruments for one canal.
struct Order {
    std::vector<OrderStep> steps;
    Lumen shaped;                                ///< the canal after the last step
    double risk = 0;                             ///< sum over the steps
    std::vector<AlternativeOrder> alternatives;  ///< at most one of each kind
    std::vector<UnusedInstrument> unused;        ///< every cutting device that is in no step
    /// What one instrument that is too short or out of stock would change; empty when none would.
    std::string missing;
    double working_depth_mm = 0;
    std::optional<Reach>
        smallest;  ///< the smallest that reaches the working depth, else the one that gets furthest
    bool reached = false;                   ///< some instrument reaches the working depth
    std::optional<std::size_t> final_step;  ///< the step with the final size
    SizeLimit limited_by = SizeLimit::Tray;
    std::string limited_why;  ///< one sentence on the next larger size
};

std::string to_string(AlternativeOrder::Kind kind);
std::string to_string(UnusedInstrument::Because because);

/// Finds an order of instruments of the tray from the native canal to the largest final size within
/// the limits.
///
/// Small hand files scout first; then a beam search over (canal, instrument) widens: an instrument
/// may only go where `rehearse` lets it go in the canal as it then is, must leave the wall and
/// transport limits, and costs risk (strain, force and turns used against their limits, length
/// bound, transport). The largest final size wins (width 3 mm above the tip, where [ISO3630-1]
/// measures it, tapers counting up to a limit), then the lower risk, then fewer instruments;
/// binding length being a cost makes tapers alternate. The same input gives the same order for any
/// number of threads.
///
/// Errors: BadInput (the lumen has no extent), Cancelled, and those of `rehearse`.
Result<Order> find_order(const Lumen& native, const Tray& tray, const OrderOptions& options = {},
                         const Progress& progress = {});

/// Depth where the canal begins to bend: first station more than 1 mm below the orifice with a
/// curvature radius below 20 mm, that a bend of at least 5 degrees follows and where the chords of
/// 2 mm above and below differ by as much; the last station if there is none.
double bend_start_mm(const Lumen& lumen);

/// Largest curvature (1/mm) more than 1 mm below the orifice and its depth, from the turning of the
/// tangents over about 1 mm.
AtDepth sharpest_bend_per_mm(const Lumen& lumen);

}  // namespace anfract
