#include "anfract/passage/rehearse.h"

#include <algorithm>
#include <cmath>
#include <utility>

#include "anfract/passage/life.h"
#include "details.h"
#include "fatigue.h"
#include "load_limits.h"
#include "rod.h"
#include "torsion.h"

namespace anfract {
namespace {

/// A device less deep than this lies in the orifice rather than in the canal.
constexpr double least_inside_mm = 0.4;
constexpr double scan_step_mm = 2.0;
constexpr double scan_spacing_mm = 0.2;
constexpr int scan_rounds = 3;
constexpr double depth_tolerance_mm = 0.02;
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
    struct Held {
        RodState state;
        Load load;
    };
    enum class Nodes { Coarse, Fine };
    Held hold(double tip_depth_mm, Nodes nodes, const RodState* near = nullptr) const;
    Held hold_fine(double tip_depth_mm, const Held* coarse = nullptr) const;
    bool inside(double tip_depth_mm) const {
        return tip_depth_mm - guide_.orifice_mm() >= least_inside_mm;
    }
    /// What was found at a depth; nothing is held less deep than `inside`.
    struct Probe {
        double depth_mm = 0;
        double ratio = 0;
        std::optional<Held> held;
        bool fine = false;
    };
    Probe probe(double tip_depth_mm, const Probe* near = nullptr) const;
    static const Probe* start_for(double tip_depth_mm, const Probe& good, const Probe& bad);
    void make_fine(Probe& probe) const;
    void close_in(Probe& good, Probe& bad) const;
    Passage report(double depth_mm, const Held& held) const;
    Passage report_at_orifice(double depth_mm) const;
    void say_load(const Load& load, Passage& passage) const;
    void say_shape(Passage& passage) const;
    void say_life(Passage& passage) const;
    PassageProfile profile_of(const RodState& state) const;

    Guide guide_;
    Beam beam_;
    const Device& device_;
    const RehearsalOptions& options_;
    Limits limits_;
    GeometryLimit shape_;
};

Trial::Held Trial::hold(double tip_depth_mm, Nodes nodes, const RodState* near) const {
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

/// With all nodes; from a coarse answer, where that was found, only little is left to do.
Trial::Held Trial::hold_fine(double tip_depth_mm, const Held* coarse) const {
    const bool near = coarse && coarse->state.converged;
    return hold(tip_depth_mm, Nodes::Fine, near ? &coarse->state : nullptr);
}

/// How near to its limits the device is at a depth; a coarse answer that is clear is taken, a close
/// or doubtful one made finer. From a fine state nearby a fine answer is as soon found as a coarse
/// one.
Trial::Probe Trial::probe(double tip_depth_mm, const Probe* near) const {
    Probe probe{tip_depth_mm, 0, {}};
    if (!inside(tip_depth_mm)) return probe;
    probe.fine = near && near->fine;
    probe.held = hold(tip_depth_mm, probe.fine ? Nodes::Fine : Nodes::Coarse,
                      near ? &near->held->state : nullptr);
    probe.ratio = probe.held->load.ratio;
    const bool close = probe.ratio > 0.85 && probe.ratio < 1.3;
    if (close || !probe.held->state.converged) make_fine(probe);
    return probe;
}

void Trial::make_fine(Probe& probe) const {
    if (probe.fine) return;
    probe.held = hold_fine(probe.depth_mm, probe.held ? &*probe.held : nullptr);
    probe.ratio = probe.held->load.ratio;
    probe.fine = true;
}

/// What to start from between two that were found: the nearer one, if it is near enough. A rod
/// is shortened rather than carried on straight.
const Trial::Probe* Trial::start_for(double tip_depth_mm, const Probe& good, const Probe& bad) {
    constexpr double farthest_up_mm = 1.0, farthest_down_mm = 0.3;
    const auto usable = [](const Probe& probe) {
        return probe.held && probe.held->state.converged;
    };
    const double up = bad.depth_mm - tip_depth_mm, down = tip_depth_mm - good.depth_mm;
    if (usable(good) && down < farthest_down_mm && down < up) return &good;
    return usable(bad) && up < farthest_up_mm ? &bad : nullptr;
}

/// Brings a depth that passes and a deeper one that does not to within the tolerance: by false
/// position on the logarithm of the ratio, just beside the root so that it is soon shut in from
/// both sides. An end that stays counts half each time (the Illinois rule), and where even that
/// makes no headway the range is halved.
void Trial::close_in(Probe& good, Probe& bad) const {
    constexpr double beside = 0.45 * depth_tolerance_mm;
    const auto height = [](const Probe& probe) {
        constexpr double loose = 0.1;  // what is far below 1 says only that the device lies loose
        return std::log(std::max(probe.ratio, loose));
    };
    double below = height(good), above = height(bad);
    double width_before = 2 * (bad.depth_mm - good.depth_mm), width_first = 2 * width_before;
    int stayed = 0;  // how often the good end did, less how often the bad one
    while (bad.depth_mm - good.depth_mm > depth_tolerance_mm) {
        const double width = bad.depth_mm - good.depth_mm;
        double share = 0.5;
        if (width < 0.5 * width_first && below < above) share = below / (below - above);
        width_first = std::exchange(width_before, width);
        const double root = good.depth_mm + share * width;
        // The far side of the root from the nearer end.
        double depth = share < 0.5 ? root + beside : root - beside;
        depth = std::clamp(depth, good.depth_mm + beside, bad.depth_mm - beside);
        Probe middle = probe(depth, start_for(depth, good, bad));
        if (middle.ratio <= 1) {
            good = std::move(middle);
            below = height(good);
            stayed = std::min(stayed - 1, -1);
            if (stayed < -1) above /= 2;
        } else {
            bad = std::move(middle);
            above = height(bad);
            stayed = std::max(stayed + 1, 1);
            if (stayed > 1) below /= 2;
        }
    }
}

Result<Passage> Trial::deepest() {
    if (!inside(shape_.depth_mm)) {
        Passage passage = report_at_orifice(std::max(shape_.depth_mm, guide_.orifice_mm()));
        say_shape(passage);
        return passage;
    }
    Probe deepest = probe(shape_.depth_mm);
    const auto push_ratio = [&] {
        return deepest.held->state.push_without_friction_N / limits_.max_push_N;
    };
    // Where it passes it is reported; and a push near its limit decides what is said of a device
    // that does not.
    if (deepest.ratio <= 1 || (push_ratio() > 0.85 && push_ratio() < 1.3)) make_fine(deepest);
    if (!deepest.held->state.converged) {
        return fail(ErrorCode::NotConverged,
                    "the equilibrium of device " + device_.id + " was not found",
                    "canal " + guide_.lumen().canal);
    }
    const bool too_much_push = push_ratio() > 1;
    // What stops a device need not grow with depth (a bend may lie high up), so the way down is
    // tried too, in longer steps where the end is far from any limit.
    const double step = deepest.ratio < 0.5 ? 2 * scan_step_mm : scan_step_mm;
    Probe good{guide_.orifice_mm(), 0, {}}, bad = deepest;
    for (;;) {
        bool stopped = false;
        for (double depth = good.depth_mm + step; depth < shape_.depth_mm && !stopped;
             depth += step) {
            Probe next = probe(depth);
            stopped = next.ratio > 1;
            (stopped ? bad : good) = std::move(next);
        }
        if (!stopped && deepest.ratio <= 1) {
            make_fine(deepest);
            Passage passage = report(shape_.depth_mm, *deepest.held);
            say_shape(passage);
            return passage;
        }
        close_in(good, bad);
        const double last = bad.depth_mm;
        bad.depth_mm = std::max(bad.depth_mm, guide_.orifice_mm() + least_inside_mm);
        make_fine(bad);
        if (!(bad.ratio <= 1)) break;
        // A coarse answer had erred: with all nodes it passes there too, and may go on below.
        if (last >= shape_.depth_mm) deepest = bad;
        good = std::exchange(bad, deepest);
    }
    const double reach = good.depth_mm;
    const Load& load = bad.held->load;
    // A tool that would also need more push than allowed to go on is too stiff for this canal,
    // whichever of the two limits it met first.
    const bool too_stiff = load.reason == StoppedBy::Strain && too_much_push;
    if (inside(reach)) make_fine(good);
    Passage passage = good.held ? report(reach, *good.held) : report_at_orifice(reach);
    say_load(load, passage);
    if (too_stiff) passage.stopped_by = StoppedBy::Stiffness;
    return passage;
}

Result<Passage> Trial::at(double tip_depth_mm) {
    const double depth = std::clamp(tip_depth_mm, guide_.orifice_mm(), guide_.foramen_mm());
    if (!inside(depth)) {
        Passage passage = report_at_orifice(depth);
        say_shape(passage);
        return passage;
    }
    const Held held = hold_fine(depth);
    if (!held.state.converged) {
        return fail(ErrorCode::NotConverged,
                    "the equilibrium of device " + device_.id + " was not found",
                    "canal " + guide_.lumen().canal);
    }
    Passage passage = report(depth, held);
    // The nearest limit: the shape counts as met from where it would stop the device.
    if (held.load.ratio > 1 || depth < shape_.depth_mm - depth_tolerance_mm) {
        say_load(held.load, passage);
    } else {
        say_shape(passage);
    }
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
    passage.fit = fit_band(guide_, device_, limits_, shape_);
    passage.buckling = buckling_load(guide_, beam_, state, limits_.handle_mm);
    passage.profile = profile_of(state);
    return passage;
}

void Trial::say_life(Passage& passage) const {
    const double speed_rpm = habits_of(device_.kind).speed_rpm;
    if (speed_rpm <= 0 || passage.peak_strain <= 0) return;
    const auto* named = std::get_if<NamedMaterial>(&device_.material);
    const bool alloy = named && (*named == NamedMaterial::NitiAustenitic ||
                                 *named == NamedMaterial::NitiMartensitic);
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

}  // namespace

double stop_setting_mm(double depth_mm) { return std::floor(depth_mm * 4 + 1e-6) / 4; }

double usual_push_N(DeviceKind kind) { return habits_of(kind).max_push_N; }

Result<Passage> rehearse(const Lumen& lumen, const Device& device,
                         const RehearsalOptions& options) {
    if (const auto checked = check(lumen, device, options); !checked) {
        return tl::unexpected(checked.error());
    }
    return Trial(lumen, device, options).deepest();
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
