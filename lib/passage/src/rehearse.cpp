#include "anfract/passage/rehearse.h"

#include <algorithm>
#include <cmath>
#include <utility>

#include "anfract/passage/life.h"
#include "depth_search.h"
#include "details.h"
#include "fatigue.h"
#include "torsion.h"
#include "unloading.h"

namespace anfract {
namespace {

/// A device less deep than this lies in the orifice rather than in the canal.
constexpr double least_inside_mm = 0.4;
constexpr double scan_spacing_mm = 0.2;
constexpr int scan_rounds = 3;
constexpr double binding_slack_mm = 0.01;

/// One device in one canal under one set of options.
class Trial {
  public:
    Trial(const Lumen& lumen, const Device& device, const RehearsalOptions& options)
        : guide_(lumen),
          beam_(device),
          device_(device),
          options_(options),
          limits_(limits_of(guide_, device, options)),
          shape_(geometry_limit(guide_, beam_, limits_.cut_allowance_mm, limits_.stop_room_mm)) {}

    Result<Passage> deepest();
    Result<Passage> at(double tip_depth_mm);

  private:
    enum class Nodes { Coarse, Fine };
    Held hold(double tip_depth_mm, Nodes nodes, const RodState* near = nullptr) const;
    Probe hold_fine(double tip_depth_mm, const std::optional<Held>& before = {}) const;
    bool inside(double tip_depth_mm) const {
        return tip_depth_mm - guide_.orifice_mm() >= least_inside_mm;
    }
    Probe probe(double tip_depth_mm, const Probe* near = nullptr) const;
    tl::unexpected<Error> not_found() const;
    Passage report(double depth_mm, const Held& held) const;
    Passage report_at_orifice(double depth_mm) const;
    void say_load(const Load& load, Passage& passage) const;
    void say_unknown(Passage& passage) const;
    void say_shape(Passage& passage) const;
    void say_life(Passage& passage) const;
    void say_tug_back(const RodState& state, Passage& passage) const;
    PassageProfile profile_of(const RodState& state) const;

    Guide guide_;
    Beam beam_;
    const Device& device_;
    const RehearsalOptions& options_;
    Limits limits_;
    GeometryLimit shape_;
};

Held Trial::hold(double tip_depth_mm, Nodes nodes, const RodState* near) const {
    const KindHabits habits = habits_of(device_.kind);
    RodOptions rod;
    rod.access = options_.access;
    rod.friction = options_.friction;
    rod.spacing_mm = options_.spacing_mm;
    if (nodes == Nodes::Coarse) {
        rod.spacing_mm = scan_spacing_mm;
        rod.most_rounds = scan_rounds;
    }
    rod.handle_mm = limits_.handle_mm;
    rod.speed_rpm = habits.speed_rpm;
    rod.feed_mm_per_s = habits.feed_mm_per_s;
    Held held{hold_rod(guide_, beam_, tip_depth_mm, rod, near), {}};
    held.load = worst_load(guide_, beam_, held.state, limits_);
    return held;
}

/// With all nodes; from an answer found before, where there is one, only little is left to do.
Probe Trial::hold_fine(double tip_depth_mm, const std::optional<Held>& before) const {
    Held held = hold(tip_depth_mm, Nodes::Fine, before ? &before->state : nullptr);
    if (!held.state.converged && before) held = hold(tip_depth_mm, Nodes::Fine);
    if (!held.state.converged) return Probe::unknown(tip_depth_mm);
    const double ratio = held.load.ratio;
    return {tip_depth_mm, ratio, true, true, std::move(held)};
}

/// How near to its limits the device is at a depth; a coarse answer that is clear is taken, a close
/// or doubtful one made finer. From a fine state nearby a fine answer is as soon found as a coarse
/// one.
Probe Trial::probe(double tip_depth_mm, const Probe* near) const {
    if (!inside(tip_depth_mm)) return {tip_depth_mm};
    if (near && near->fine) return hold_fine(tip_depth_mm, near->held);
    Held coarse = hold(tip_depth_mm, Nodes::Coarse, near ? &near->held->state : nullptr);
    if (!coarse.state.converged) return hold_fine(tip_depth_mm);
    const double ratio = coarse.load.ratio;
    const bool close = ratio > 0.85 && ratio < 1.3;
    if (close) return hold_fine(tip_depth_mm, std::move(coarse));
    return {tip_depth_mm, ratio, true, false, std::move(coarse)};
}

tl::unexpected<Error> Trial::not_found() const {
    return fail(ErrorCode::NotConverged,
                "the equilibrium of device " + device_.id + " was not found",
                "canal " + guide_.lumen().canal);
}

Result<Passage> Trial::deepest() {
    if (!inside(shape_.depth_mm)) {
        Passage passage = report_at_orifice(std::max(shape_.depth_mm, guide_.orifice_mm()));
        say_shape(passage);
        return passage;
    }
    Probe deepest = probe(shape_.depth_mm);
    const auto push_ratio = [&] {
        return deepest.held ? deepest.held->state.push_without_friction_N / limits_.max_push_N : 0;
    };
    // Where it passes it is reported; and a push near its limit decides what is said of a device
    // that does not.
    const bool push_decides = push_ratio() > 0.85 && push_ratio() < 1.3;
    if (!deepest.fine && (deepest.passes() || push_decides))
        deepest = hold_fine(deepest.depth_mm, deepest.held);
    const bool too_much_push = push_ratio() > 1;
    const Trier trier{
        [this](double depth_mm, const Probe* near) { return probe(depth_mm, near); },
        [this](const Probe& before) { return hold_fine(before.depth_mm, before.held); }};
    const WayDown way =
        find_way_down(guide_.orifice_mm(), least_inside_mm, std::move(deepest), trier);
    const Probe& good = way.good;
    if (!good.held && !way.bad->known) return not_found();
    Passage passage =
        good.held ? report(good.depth_mm, *good.held) : report_at_orifice(good.depth_mm);
    if (!way.bad) {
        say_shape(passage);
    } else if (!way.bad->known) {
        say_unknown(passage);
    } else {
        say_load(way.bad->held->load, passage);
        // A tool that would also need more push than allowed to go on is too stiff for this canal,
        // whichever of the two limits it met first.
        if (way.bad->held->load.reason == StoppedBy::Strain && too_much_push)
            passage.stopped_by = StoppedBy::Stiffness;
    }
    if (good.held) say_tug_back(good.held->state, passage);
    return passage;
}

Result<Passage> Trial::at(double tip_depth_mm) {
    const double depth = std::clamp(tip_depth_mm, guide_.orifice_mm(), guide_.foramen_mm());
    if (!inside(depth)) {
        Passage passage = report_at_orifice(depth);
        say_shape(passage);
        return passage;
    }
    const Probe found = hold_fine(depth);
    if (!found.known) return not_found();
    Passage passage = report(depth, *found.held);
    // The nearest limit: the shape counts as met from where it would stop the device.
    if (!found.passes() || depth < shape_.depth_mm - depth_tolerance_mm) {
        say_load(found.held->load, passage);
    } else {
        say_shape(passage);
    }
    say_tug_back(found.held->state, passage);
    return passage;
}

Passage Trial::report_at_orifice(double depth_mm) const {
    Passage passage;
    passage.canal = guide_.lumen().canal;
    passage.device = device_.id;
    passage.access = options_.access;
    passage.reaches_mm = depth_mm;
    passage.stop_setting_mm = stop_setting_mm(depth_mm);
    passage.peak_strain_depth_mm = depth_mm;
    return passage;
}

Passage Trial::report(double depth_mm, const Held& held) const {
    const RodState& state = held.state;
    Passage passage = report_at_orifice(depth_mm);
    passage.binds = binding_ranges(guide_, beam_, depth_mm, binding_slack_mm);
    const auto peak = std::max_element(state.strain.begin(), state.strain.end());
    passage.peak_strain = *peak;
    passage.peak_strain_depth_mm = state.depth_mm[peak - state.strain.begin()];
    passage.push_force_N = state.push_N;
    const bool turns = device_.cuts() || habits_of(device_.kind).speed_rpm > 0;
    passage.torque_mNm = turns ? state.torque_Nmm : 0;
    passage.bending_energy_mJ = state.bending_energy_Nmm;
    if (turns)
        passage.torsion = torsion_of(beam_, state, passage.binds, depth_mm, options_.friction);
    say_life(passage);
    passage.tip = tip_contact(guide_, beam_, state);
    passage.pre_bend = pre_bend(beam_, state);
    passage.withdrawal = withdrawal_of(beam_, state);
    passage.fit = fit_band(guide_, device_, limits_, shape_);
    passage.buckling = buckling_load(guide_, beam_, state, limits_.handle_mm);
    passage.profile = profile_of(state);
    return passage;
}

void Trial::say_tug_back(const RodState& state, Passage& passage) const {
    if (device_.kind != DeviceKind::Cone) return;
    const bool wedged = passage.stopped_by == StoppedBy::Width;
    passage.tug_back =
        tug_back(beam_, state, wedged ? std::optional(passage.stopped_at_mm) : std::nullopt,
                 options_.friction, limits_.max_push_N);
}

void Trial::say_life(Passage& passage) const {
    const double speed_rpm = habits_of(device_.kind).speed_rpm;
    if (speed_rpm <= 0 || passage.peak_strain <= 0) return;
    const bool named = std::holds_alternative<NamedMaterial>(device_.material);
    const bool alloy = is_made_of(device_, NamedMaterial::NitiAustenitic) ||
                       is_made_of(device_, NamedMaterial::NitiMartensitic);
    // The law of life is that of nickel-titanium; a material given by its figures is taken for one.
    if (named && !alloy) return;
    CycleRange cycles = cycles_to_failure(passage.peak_strain, device_);
    if (alloy && options_.temperature_degC) {
        const CycleRange factor = life_factor_of_temperature(*options_.temperature_degC);
        // Two independent spreads, as shares of the median.
        const auto both = [&](double life, double warmth) {
            return std::exp(
                std::hypot(std::log(life / cycles.median), std::log(warmth / factor.median)));
        };
        const double median = cycles.median * factor.median;
        cycles = {median / both(cycles.low, factor.low), median,
                  median * both(cycles.high, factor.high)};
    }
    passage.cycles_to_failure = cycles;
    passage.life_used_per_minute = damage_sum({{speed_rpm, cycles}});
}

PassageProfile Trial::profile_of(const RodState& state) const {
    PassageProfile profile;
    for (std::size_t i = 0; i < state.depth_mm.size(); ++i) {
        const double force = state.contact_N[i].norm();
        profile.depth_mm.push_back(state.depth_mm[i]);
        profile.offset_P_mm.push_back(state.point_P[i] - state.centre_P[i]);
        profile.strain.push_back(state.strain[i]);
        // The interior point method leaves a trace of force on every side; that is no contact.
        const bool touches = force > 1e-4;
        profile.contact_N_per_mm.push_back(touches ? force / state.spacing_mm : 0.0);
        profile.contact_toward_P.push_back(touches ? Vec3(state.contact_N[i] / force)
                                                   : Vec3(0, 0, 0));
    }
    return profile;
}

void Trial::say_load(const Load& load, Passage& passage) const {
    passage.stopped_by = load.reason;
    passage.stopped_at_mm = load.depth_mm;
    passage.limit = std::isfinite(load.limit) ? load.limit : 0;
    passage.why = sentence(load);
}

void Trial::say_unknown(Passage& passage) const {
    passage.stopped_by = StoppedBy::Unknown;
    passage.stopped_at_mm = passage.reaches_mm;
    passage.limit = 0;
    passage.why = sentence_of_unknown(passage.reaches_mm);
}

void Trial::say_shape(Passage& passage) const {
    passage.stopped_by = shape_.reason;
    passage.stopped_at_mm = shape_.decided_at_mm;
    passage.limit = shape_.reason == StoppedBy::Width    ? shape_.canal_mm
                    : shape_.reason == StoppedBy::Length ? device_.length_mm - limits_.stop_room_mm
                                                         : guide_.foramen_mm();
    passage.why = sentence(shape_, device_, limits_);
}

/// Complains of a device that is too soft or too stiff to be told from nothing or from rock.
Result<void> check_stiffness(const Device& device) {
    constexpr double least_Nmm2 = 1e-12, most_Nmm2 = 1e12;
    const Beam beam(device);
    for (const double x_mm : {0.0, device.length_mm / 2, device.length_mm}) {
        const double stiffness = beam.stiffness_Nmm2(x_mm);
        if (!(stiffness >= least_Nmm2 && stiffness <= most_Nmm2)) {
            return fail(ErrorCode::BadInput, "its bending stiffness is no device's",
                        "device " + device.id,
                        "correct its diameters, its section or its material");
        }
    }
    return {};
}

/// Complains about what cannot be tried.
Result<void> check(const Lumen& lumen, const Device& device, const RehearsalOptions& options) {
    if (auto usable = check_lumen(lumen); !usable) return usable;
    if (!(device.length_mm > 0) || !(device.diameter_mm_at(0) > 0)) {
        return fail(ErrorCode::BadInput, "the device has no extent", "device " + device.id,
                    "give its tip_mm and length_mm");
    }
    if (!(options.friction >= 0 && options.friction <= 2)) {
        return fail(ErrorCode::BadInput, "the friction coefficient must be from 0 to 2",
                    "friction");
    }
    if (options.temperature_degC &&
        !(*options.temperature_degC >= -50 && *options.temperature_degC <= 100)) {
        return fail(ErrorCode::BadInput, "the temperature must be from -50 to 100 degC",
                    "temperature");
    }
    constexpr double least_spacing_mm = 0.005;
    if (!(options.spacing_mm >= least_spacing_mm && std::isfinite(options.spacing_mm))) {
        return fail(ErrorCode::BadInput, "the spacing must be at least 0.005 mm", "rehearsal");
    }
    const auto bad = [](const std::optional<double>& value, double least) {
        return value && !(*value >= least && std::isfinite(*value));
    };
    constexpr double above_0 = 1e-9;
    if (bad(options.max_push_N, above_0) || bad(options.max_strain, above_0)) {
        return fail(ErrorCode::BadInput, "limits of push and strain must be above 0", "rehearsal");
    }
    if (bad(options.cut_allowance_mm, 0) || bad(options.stop_room_mm, 0)) {
        return fail(ErrorCode::BadInput,
                    "what may be cut and the room for the stop must not be below 0", "rehearsal");
    }
    return check_stiffness(device);
}

/// Least and largest pull of the cone as it is and as its tolerance may have it; 0 where it does
/// not even get into the canal or nothing is known of it.
std::pair<double, double> tug_back_range_N(const Lumen& lumen, const Device& device,
                                           const RehearsalOptions& options,
                                           const Passage& nominal) {
    double low = nominal.tug_back->force_N, high = low;
    for (const double by_mm : {-device.tolerance_mm, device.tolerance_mm}) {
        const Device other = thicker(device, by_mm);
        const Result<Passage> passage = Trial(lumen, other, options).deepest();
        const double force = passage && passage->tug_back ? passage->tug_back->force_N : 0;
        low = std::min(low, force);
        high = std::max(high, force);
    }
    return {low, high};
}

}  // namespace

double stop_setting_mm(double depth_mm) { return std::floor(depth_mm * 4 + 1e-6) / 4; }

double usual_push_N(DeviceKind kind) { return habits_of(kind).max_push_N; }

Result<Passage> rehearse(const Lumen& lumen, const Device& device,
                         const RehearsalOptions& options) {
    if (const auto checked = check(lumen, device, options); !checked) {
        return tl::unexpected(checked.error());
    }
    Result<Passage> passage = Trial(lumen, device, options).deepest();
    if (passage && passage->tug_back && device.tolerance_mm > 0) {
        passage->tug_back->range_N = tug_back_range_N(lumen, device, options, *passage);
    }
    return passage;
}

Result<Passage> hold_at(const Lumen& lumen, const Device& device, double tip_depth_mm,
                        const RehearsalOptions& options) {
    if (const auto checked = check(lumen, device, options); !checked) {
        return tl::unexpected(checked.error());
    }
    if (!std::isfinite(tip_depth_mm)) {
        return fail(ErrorCode::BadInput, "the tip depth is not a number", "tip_depth_mm");
    }
    return Trial(lumen, device, options).at(tip_depth_mm);
}

}  // namespace anfract
