#include "load_limits.h"

#include <algorithm>
#include <cmath>
#include <cstdio>

#include "buckling.h"

namespace anfract {
namespace {

template <class... Values>
std::string text(const char* format, Values... values) {
    char buffer[240];
    std::snprintf(buffer, sizeof buffer, format, values...);
    return buffer;
}

}  // namespace

Limits limits_of(const Guide& guide, const Device& device, const RehearsalOptions& options) {
    const KindHabits habits = habits_of(device.kind);
    Limits limits;
    limits.max_push_N = options.max_push_N.value_or(habits.max_push_N);
    limits.cut_allowance_mm = device.cuts()
                                  ? options.cut_allowance_mm.value_or(habits.cut_allowance_mm)
                                  : options.cut_allowance_mm.value_or(0.0);
    limits.stop_room_mm = options.stop_room_mm.value_or(habits.stop_room_mm);
    if (options.max_strain) {
        limits.max_strain = *options.max_strain;
    } else if (habits.strain_stops) {
        const auto elastic = facts_of(device.material).elastic_limit_strain;
        if (elastic) limits.max_strain = *elastic;
    }
    limits.handle_mm =
        habits.held_at_mark ? std::min(device.length_mm, guide.foramen_mm()) : device.length_mm;
    return limits;
}

Load worst_load(const Guide& guide, const Beam& beam, const RodState& state, const Limits& limits) {
    Load worst;
    worst.ratio = -1;  // of a device that lies loose the first limit is told, however far
    const auto consider = [&worst](const Load& load) {
        if (load.ratio > worst.ratio) worst = load;
    };
    const auto peak = std::max_element(state.strain.begin(), state.strain.end());
    const double peak_depth = state.depth_mm[peak - state.strain.begin()];
    if (std::isfinite(limits.max_strain)) {
        consider(
            {StoppedBy::Strain, *peak / limits.max_strain, *peak, limits.max_strain, peak_depth});
    }

    const bool stiff = !beam.device().cuts();
    std::size_t hardest = 0;
    for (std::size_t i = 0; i < state.contact_N.size(); ++i) {
        if (state.contact_N[i].norm() > state.contact_N[hardest].norm()) hardest = i;
    }
    consider({stiff ? StoppedBy::Stiffness : StoppedBy::Force, state.push_N / limits.max_push_N,
              state.push_N, limits.max_push_N, state.depth_mm[hardest]});

    if (state.push_N > 0) {
        const double outside = buckling_force_N(beam, state.from_tip_mm.front(), limits.handle_mm);
        consider({StoppedBy::Buckling, state.push_N / outside, state.push_N, outside,
                  state.depth_mm.front()});
    }
    const InnerBuckling inside = inner_buckling(guide, beam, state);
    if (inside.ratio > 0) {
        consider({StoppedBy::Buckling, inside.ratio, inside.ratio * inside.force_N, inside.force_N,
                  inside.depth_mm});
    }
    return worst;
}

std::string sentence(const Load& load) {
    switch (load.reason) {
        case StoppedBy::Strain:
            return text("bending strains it to %.2f %% at %.1f mm; the limit is %.2f %%",
                        100 * load.value, load.depth_mm, 100 * load.limit);
        case StoppedBy::Stiffness:
            return text(
                "bending it round the curve takes a push of %.2f N; the limit is %.2f N, and it "
                "presses "
                "hardest at %.1f mm",
                load.value, load.limit, load.depth_mm);
        case StoppedBy::Force:
            return text(
                "it takes a push of %.2f N; the limit is %.2f N, and it presses hardest at %.1f mm",
                load.value, load.limit, load.depth_mm);
        case StoppedBy::Buckling:
            return text("it takes a push of %.2f N and buckles at %.2f N, at %.1f mm", load.value,
                        load.limit, load.depth_mm);
        default:
            return "";
    }
}

std::string sentence_of_unknown(double depth_mm) {
    return text(
        "no equilibrium was found just below %.1f mm, so nothing is known of it from there on",
        depth_mm);
}

std::string sentence(const GeometryLimit& limit, const Device& device, const Limits& limits) {
    switch (limit.reason) {
        case StoppedBy::Foramen:
            return text("its tip is at the foramen, %.1f mm deep", limit.depth_mm);
        case StoppedBy::Length:
            return text("it is %.1f mm long, and %.1f mm are left for the stop", device.length_mm,
                        limits.stop_room_mm);
        default:
            break;
    }
    const char* part = limit.depth_mm - limit.decided_at_mm < 0.05 ? "its tip" : "it";
    const std::string widths = text("%s is %.2f mm wide and the canal %.2f mm at %.1f mm", part,
                                    limit.device_mm, limit.canal_mm, limit.decided_at_mm);
    if (limits.cut_allowance_mm <= 0) return widths;
    return widths + text(", %.2f mm being what it may cut away", limits.cut_allowance_mm);
}

}  // namespace anfract
