#include "attempt.h"

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <limits>

#include "anfract/shaping/remove.h"
#include "words.h"

namespace anfract {
namespace {

/// Less than this below the orifice is no opening, and less taken away is not worth a step.
constexpr double least_opening_mm = 2;
constexpr double least_opened_mm3 = 0.03;

SizeLimit limit_of(StoppedBy reason) {
    switch (reason) {
        case StoppedBy::Strain:
        case StoppedBy::Stiffness:
            return SizeLimit::Strain;
        case StoppedBy::Unknown:
            return SizeLimit::Curve;
        case StoppedBy::Force:
        case StoppedBy::Buckling:
            return SizeLimit::Force;
        case StoppedBy::Length:
            return SizeLimit::Tray;
        case StoppedBy::Width:
        case StoppedBy::Foramen:
            return SizeLimit::Width;
    }
    return SizeLimit::Width;
}

double bound_length_mm(const Passage& passage) {
    double length = 0;
    for (auto [from, to] : passage.binds) length += to - from;
    return length;
}

/// Cost of a step, each part 1 where it would be grave: turns used up, a newton of push, a
/// centimetre of binding, transport at its limit. The weights are ours and only order the choices.
double risk_of(const OrderStep& step, const OrderOptions& options) {
    double risk = step.passage.push_force_N / 1.0 + step.bound_mm / 10 +
                  step.transport.value / options.transport_most_mm;
    // Going in again is doing it again.
    return risk * step.passes + step.life_used;
}

/// Turns made over those the instrument stands at the low estimate.
double life_used(const Device& device, const Passage& passage, int passes,
                 const OrderOptions& options) {
    if (!rotates(device) || !passage.cycles_to_failure) return 0;
    return passes * options.turns / std::max(1.0, passage.cycles_to_failure->low);
}

/// Depth at a share of the canal's length.
double at_share(const Lumen& lumen, double share) {
    return (1 - share) * lumen.depth_mm.front() + share * lumen.depth_mm.back();
}

/// Twice the least distance from the centreline to the wall, down to a depth.
double narrowest(const Lumen& lumen, double to_depth_mm) {
    double radius = std::numeric_limits<double>::infinity();
    for (int i = 0; i < lumen.station_count() && lumen.depth_mm[std::size_t(i)] <= to_depth_mm; ++i)
        radius = std::min(radius, lumen.radius_mm.row(i).minCoeff());
    return 2 * radius;
}

std::string rounded(double value, const char* unit) {
    char text[40];
    std::snprintf(text, sizeof text, "%.1f %s", value, unit);
    return text;
}
std::string newton(double force_N) { return rounded(force_N, "N"); }
std::string degrees(double angle_deg) { return rounded(angle_deg, "degrees"); }

}  // namespace

double torque_share(const Device& device, const Passage& passage) {
    if (!rotates(device) || !passage.torsion) return 0;
    return std::sqrt(passage.torsion->share_low * passage.torsion->share_high);
}

double ledge_force_N(const Passage& passage, const OrderOptions& options) {
    const auto& tip = passage.tip;
    const bool digs = tip && tip->at_outer_wall && tip->attack_deg > options.ledge_angle_deg;
    return digs ? tip->side_force_N : 0;
}

bool used(const ShapingState& state, const Device& device) {
    return std::any_of(state.steps.begin(), state.steps.end(),
                       [&](const OrderStep& step) { return step.device.id == device.id; });
}

double final_size_mm(const Device& device, const OrderOptions& options) {
    return device.tip_mm + 3 * std::min(device.taper, options.taper_that_counts);
}

Bench::Bench(const Lumen& native, const OrderOptions& options, double working_depth_mm)
    : native_(native),
      options_(options),
      working_depth_mm_(working_depth_mm),
      narrowest_mm_(narrowest(native, working_depth_mm)),
      // The upper part: down to the bend, but the upper third in any case, and to three fifths of
      // a canal that has no bend (common practice, no source).
      open_to_mm_(std::min(std::max(bend_start_mm(native), at_share(native, 1.0 / 3)),
                           at_share(native, 0.6))),
      wall_to_mm_(std::min(native.depth_mm.back() - options.wall_to_foramen_mm, working_depth_mm)),
      apical_third_mm_(working_depth_mm - (native.depth_mm.back() - native.depth_mm.front()) / 3) {}

bool Bench::arrives(const Passage& passage) const {
    return anfract::arrives(passage, native_, working_depth_mm_);
}

double Bench::largest_tip_mm() const {
    return diameter_mm_at(native_, working_depth_mm_) + options_.enough_wider_mm;
}

bool Bench::widens(const ShapingState& state, const Device& device) const {
    if (device.taper > options_.enough_taper + 1e-9 || used(state, device)) return false;
    if (device.tip_mm > largest_tip_mm() + same_size_mm) return false;
    const bool larger = device.tip_mm > state.tip_mm + same_size_mm;
    const bool steeper =
        device.tip_mm > state.tip_mm - same_size_mm && device.taper > state.taper + 0.005;
    // More than a tenth of a millimetre at once is no step but a leap; what is no wider than the
    // canal as it is cuts nothing at its tip and leaps over nothing.
    return (larger || steeper) && device.tip_mm < std::max(state.tip_mm + 0.105, narrowest_mm_);
}

RehearsalOptions Bench::rehearsal() const {
    RehearsalOptions options;
    options.access = options_.access;
    options.friction = options_.friction;
    options.stop_room_mm = options_.stop_room_mm;
    return options;
}

Result<Passage> Bench::rehearsed(const ShapingState& state, const Device& device) const {
    return rehearse(state.lumen, device, rehearsal());
}

Result<ShapingState> Bench::with_step(const ShapingState& state, const Device& device,
                                      StepAction action, double depth_mm,
                                      const Advance& advance) const {
    Result<Passage> held = hold_at(advance.lumen, device, depth_mm, rehearsal());
    if (!held) return tl::unexpected(held.error());
    ShapingState next = state;
    OrderStep step;
    step.action = action;
    step.device = device;
    step.passage = std::move(*held);
    step.depth_mm = depth_mm;
    step.passes = advance.passes;
    step.bound_mm = bound_length_mm(step.passage);
    next.lumen = after(advance.lumen, device, step.passage);
    step.diameter_after_mm = diameter_mm_at(next.lumen, depth_mm);
    step.wall_left = thinnest_wall_mm(next.lumen, wall_to_mm_);
    step.transport = largest_transport_mm(state.lumen, next.lumen);
    step.centring = centring_at(state.lumen, next.lumen, step.transport.depth_mm);
    step.removed_mm3 = volume_mm3(next.lumen) - volume_mm3(state.lumen);
    step.untouched_share = untouched_share(native_, next.lumen, working_depth_mm_);
    step.life_used = life_used(device, step.passage, step.passes, options_);
    step.risk = risk_of(step, options_);
    next.risk += step.risk;
    if (device.kind == DeviceKind::HandFile) next.scouted_mm = std::max(next.scouted_mm, depth_mm);
    next.steps.push_back(std::move(step));
    return next;
}

void Bench::judge(Attempt& attempt, ShapingState next) const {
    const OrderStep& step = next.steps.back();
    const double wall_least = options_.wall_least_mm + options_.wall_error_mm;
    // Thin walls the canal was born with forbid nothing; cutting into them does.
    const auto wall = thinnest_touched_wall_mm(native_, next.lumen, wall_to_mm_);
    if (wall && wall->value < wall_least) {
        attempt.limit = SizeLimit::Wall;
        attempt.why = "would leave " + mm(wall->value, 2) + " of dentine at " +
                      mm(wall->depth_mm, 1) + ", where " + mm(wall_least, 2) +
                      " is the least with the error of measurement";
        return;
    }
    if (rotates(step.device) && step.passage.peak_strain > options_.rotating_strain_most) {
        attempt.limit = SizeLimit::Strain;
        attempt.why = "would be bent to " + percent(step.passage.peak_strain) + " strain at " +
                      mm(step.passage.peak_strain_depth_mm, 1) + ", where " +
                      percent(options_.rotating_strain_most) +
                      " leaves room for the error of the bend";
        return;
    }
    if (step.life_used > options_.life_used_most) {
        attempt.limit = SizeLimit::Curve;
        attempt.why =
            "could break within " +
            std::to_string(std::lround(step.passage.cycles_to_failure->low)) +
            " turns in the bend at " + mm(step.passage.peak_strain_depth_mm, 1) + ", and " +
            std::to_string(std::lround(step.passes * options_.turns / options_.life_used_most)) +
            " are asked for";
        return;
    }
    if (step.life_used > 0 && step.life_used + step.device.life_used > 1) {
        attempt.limit = SizeLimit::Curve;
        attempt.why = "has used " + percent(step.device.life_used) +
                      " of its life in earlier cases and would use " + percent(step.life_used) +
                      " here";
        return;
    }
    if (const double share = torque_share(step.device, step.passage);
        share > options_.torque_share_most) {
        attempt.limit = SizeLimit::Force;
        attempt.why = "would be twisted by " + percent(share, 0) +
                      " of what breaks it, bound along " + mm(step.bound_mm, 1);
        return;
    }
    if (step.action == StepAction::Shape &&
        ledge_force_N(step.passage, options_) > options_.ledge_force_most_N) {
        const TipContact& tip = *step.passage.tip;
        attempt.limit = SizeLimit::Curve;
        attempt.why = "would press its tip on the outer wall with " + newton(tip.side_force_N) +
                      " at " + degrees(tip.attack_deg) + ", which begins a ledge";
        return;
    }
    // What a motor turns locks; a hand feels it.
    if (rotates(step.device) && step.bound_mm > options_.bound_most_mm) {
        attempt.limit = SizeLimit::Force;
        attempt.why = "would bind along " + mm(step.bound_mm, 1) + " and could lock";
        return;
    }
    if (step.action == StepAction::Shape &&
        is_made_of(step.device, NamedMaterial::StainlessSteel) &&
        step.passage.peak_strain > options_.steel_strain_most) {
        attempt.limit = SizeLimit::Strain;
        attempt.why = "would be bent to " + percent(step.passage.peak_strain) + " strain at " +
                      mm(step.passage.peak_strain_depth_mm, 1) + ", where steel keeps the bend";
        return;
    }
    const AtDepth transport = largest_transport_mm(native_, next.lumen, apical_third_mm_);
    if (transport.value > options_.transport_most_mm) {
        attempt.limit = SizeLimit::Curve;
        attempt.why = "would shift the canal by " + mm(transport.value, 2) + " at " +
                      mm(transport.depth_mm, 1);
        return;
    }
    attempt.state = std::move(next);
}

Result<Attempt> Bench::finish(const ShapingState& state, const Device& device) const {
    Result<Advance> advance =
        advance_to(state.lumen, device, working_depth_mm_, options_.most_passes, rehearsal());
    if (!advance) return tl::unexpected(advance.error());
    Attempt attempt;
    attempt.passage = advance->passage;
    if (!advance->arrives) {
        attempt.limit = limit_of(attempt.passage.stopped_by);
        attempt.why = attempt.passage.stopped_by == StoppedBy::Unknown
                          ? "is known to reach " + mm(attempt.passage.reaches_mm, 1) + " only"
                          : "is stopped at " + mm(attempt.passage.reaches_mm, 1) + " by " +
                                to_string(attempt.passage.stopped_by);
        if (!attempt.passage.why.empty()) attempt.why += ": " + attempt.passage.why;
        return attempt;
    }
    const bool scouts = device.kind == DeviceKind::HandFile && device.tip_mm < largest_scout_mm;
    auto next = with_step(state, device, scouts ? StepAction::Scout : StepAction::Shape,
                          working_depth_mm_, *advance);
    if (!next) return tl::unexpected(next.error());
    next->tip_mm = device.tip_mm;
    next->taper = device.taper;
    next->size_mm = final_size_mm(device, options_);
    judge(attempt, std::move(*next));
    return attempt;
}

Result<Attempt> Bench::open(const ShapingState& state, const Device& device, double to_mm) const {
    const double to = std::min(to_mm, state.scouted_mm > 0 ? state.scouted_mm : working_depth_mm_);
    Attempt attempt;
    const double least = native_.depth_mm.front() + least_opening_mm;
    if (to < least) {
        attempt.why = "would open less than " + mm(least_opening_mm, 0) + " of the upper part";
        return attempt;
    }
    // Tips do not cut, and are led by the canal (common practice, no source).
    if (rotates(device) && device.tip_mm > diameter_mm_at(native_, to) + same_size_mm) {
        attempt.why = "is wider at its tip than the upper part, " +
                      mm(diameter_mm_at(native_, to), 2) + " at " + mm(to, 1);
        return attempt;
    }
    Result<Advance> advance =
        advance_to(state.lumen, device, to, options_.most_passes, rehearsal());
    if (!advance) return tl::unexpected(advance.error());
    // Half a millimetre short of where it would jam, and never round the bend.
    const double depth = advance->arrives ? to : advance->passage.reaches_mm - 0.5;
    if (depth < least) {
        attempt.why = "goes no further than " + mm(std::max(depth, native_.depth_mm.front()), 1);
        attempt.passage = std::move(advance->passage);
        return attempt;
    }
    auto next = with_step(state, device, StepAction::Open, depth, *advance);
    attempt.passage = std::move(advance->passage);
    if (!next) return tl::unexpected(next.error());
    ++next->opens;
    // An instrument that takes next to nothing is not worth a step.
    if (next->steps.back().removed_mm3 < least_opened_mm3) {
        attempt.why = "would take nothing from the upper part";
        return attempt;
    }
    judge(attempt, std::move(*next));
    return attempt;
}

Result<Attempt> Bench::descend(const ShapingState& state, const Device& device) const {
    Result<Advance> advance =
        advance_to(state.lumen, device, working_depth_mm_, options_.most_passes, rehearsal());
    if (!advance) return tl::unexpected(advance.error());
    Attempt attempt;
    attempt.passage = advance->passage;
    const double depth = attempt.passage.reaches_mm;
    if (depth < native_.depth_mm.front() + least_opening_mm) {
        attempt.why = "goes no further than " + mm(depth, 1);
        return attempt;
    }
    auto next = with_step(state, device, StepAction::Scout, depth, *advance);
    if (!next) return tl::unexpected(next.error());
    judge(attempt, std::move(*next));
    return attempt;
}

}  // namespace anfract
