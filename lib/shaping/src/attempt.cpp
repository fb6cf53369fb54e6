#include "attempt.h"

#include <algorithm>
#include <cmath>
#include <cstdio>

#include "anfract/shaping/remove.h"

namespace anfract {
namespace {

bool rotates(const Device& device) {
    return device.kind == DeviceKind::RotaryFile || device.kind == DeviceKind::ReciprocatingFile;
}

std::string mm(double value, int decimals) {
    char buffer[32];
    std::snprintf(buffer, sizeof buffer, "%.*f mm", decimals, value);
    return buffer;
}

std::string percent(double share) {
    char buffer[32];
    std::snprintf(buffer, sizeof buffer, "%.1f %%", share * 100);
    return buffer;
}

bool is_steel(const Device& device) {
    const auto* named = std::get_if<NamedMaterial>(&device.material);
    return named && *named == NamedMaterial::StainlessSteel;
}

SizeLimit limit_of(StoppedBy reason) {
    switch (reason) {
        case StoppedBy::Strain:
        case StoppedBy::Stiffness:
            return SizeLimit::Strain;
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
    if (rotates(step.device) && step.passage.cycles_to_failure) {
        risk += options.turns / std::max(1.0, step.passage.cycles_to_failure->low);
    }
    return risk;
}

}  // namespace

Bench::Bench(const Lumen& native, const OrderOptions& options, double working_depth_mm)
    : native_(native),
      options_(options),
      working_depth_mm_(working_depth_mm),
      // The upper part: down to the bend, and to three fifths of a canal that has none.
      open_to_mm_(std::min(bend_start_mm(native),
                           0.4 * native.depth_mm.front() + 0.6 * native.depth_mm.back())),
      wall_to_mm_(native.depth_mm.back() - options.wall_to_foramen_mm),
      apical_third_mm_(working_depth_mm - (native.depth_mm.back() - native.depth_mm.front()) / 3) {}

bool Bench::arrives(const Passage& passage) const {
    // An instrument before may have ended between two stations, and the canal is as cut only to the
    // upper one.
    return passage.reaches_mm >= working_depth_mm_ - native_.spacing_mm() - 0.05;
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
                                      StepAction action, double depth_mm) const {
    Result<Passage> held = hold_at(state.lumen, device, depth_mm, rehearsal());
    if (!held) return tl::unexpected(held.error());
    ShapingState next = state;
    OrderStep step;
    step.action = action;
    step.device = device;
    step.passage = std::move(*held);
    step.depth_mm = depth_mm;
    step.bound_mm = bound_length_mm(step.passage);
    next.lumen = after(state.lumen, device, step.passage);
    step.diameter_after_mm = diameter_mm_at(next.lumen, depth_mm);
    step.wall_left = thinnest_wall_mm(next.lumen, wall_to_mm_);
    step.transport = largest_transport_mm(state.lumen, next.lumen);
    step.removed_mm3 = volume_mm3(next.lumen) - volume_mm3(state.lumen);
    next.risk += risk_of(step, options_);
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
    const auto& cycles = step.passage.cycles_to_failure;
    if (rotates(step.device) && cycles && cycles->low < options_.turns) {
        attempt.limit = SizeLimit::Curve;
        attempt.why = "could break within " + std::to_string(std::lround(cycles->low)) +
                      " turns in the bend at " + mm(step.passage.peak_strain_depth_mm, 1);
        return;
    }
    if (step.action == StepAction::Shape && is_steel(step.device) &&
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
    Result<Passage> free = rehearsed(state, device);
    if (!free) return tl::unexpected(free.error());
    Attempt attempt;
    attempt.passage = std::move(*free);
    if (!arrives(attempt.passage)) {
        attempt.limit = limit_of(attempt.passage.stopped_by);
        attempt.why = "is stopped at " + mm(attempt.passage.reaches_mm, 1) + " by " +
                      to_string(attempt.passage.stopped_by);
        return attempt;
    }
    const bool scouts = device.kind == DeviceKind::HandFile && device.tip_mm < 0.11;
    Result<ShapingState> next =
        with_step(state, device, scouts ? StepAction::Scout : StepAction::Shape, working_depth_mm_);
    if (!next) return tl::unexpected(next.error());
    next->tip_mm = device.tip_mm;
    next->taper = device.taper;
    judge(attempt, std::move(*next));
    return attempt;
}

Result<Attempt> Bench::open(const ShapingState& state, const Device& device) const {
    Result<Passage> free = rehearsed(state, device);
    if (!free) return tl::unexpected(free.error());
    Attempt attempt;
    attempt.passage = std::move(*free);
    // Half a millimetre short of where it would jam, and never round the bend.
    const double depth = std::min(attempt.passage.reaches_mm - 0.5, open_to_mm_);
    if (depth < native_.depth_mm.front() + 2) {
        attempt.why = "goes no further than the orifice";
        return attempt;
    }
    Result<ShapingState> next = with_step(state, device, StepAction::Open, depth);
    if (!next) return tl::unexpected(next.error());
    ++next->opens;
    // An instrument that takes next to nothing is not worth a step.
    if (next->steps.back().removed_mm3 < 0.03) {
        attempt.why = "would take nothing";
        return attempt;
    }
    judge(attempt, std::move(*next));
    return attempt;
}

}  // namespace anfract
