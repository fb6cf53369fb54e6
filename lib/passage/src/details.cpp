#include "details.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>

#include "buckling.h"

namespace anfract {

TipContact tip_contact(const Guide& guide, const Beam& beam, const RodState& state) {
    constexpr double last_mm = 0.5, least_N = 1e-4, straight_per_mm = 0.01;
    const std::size_t n = state.point_P.size();
    const GuidePlace place = guide.place(state.depth_mm.back());
    const Vec3 axis =
        (1.5 * state.point_P[n - 1] - 2 * state.point_P[n - 2] + 0.5 * state.point_P[n - 3])
            .normalized();
    TipContact tip;
    tip.clearance_mm = guide.inradius_mm(state.depth_mm.back()) - beam.radius_mm(0);
    tip.attack_deg =
        std::acos(std::clamp(axis.dot(place.tangent_P), -1.0, 1.0)) * 180 / std::numbers::pi;
    Vec3 pressed(0, 0, 0);
    for (std::size_t i = n; i-- > 0 && state.from_tip_mm[i] <= last_mm;) {
        pressed += state.contact_N[i];
    }
    tip.side_force_N = pressed.norm();
    const Vec2 bend = guide.curvature_per_mm(state.depth_mm.back() - last_mm);
    const Vec3 inward = bend.x() * place.n1_P + bend.y() * place.n2_P;
    tip.at_outer_wall =
        tip.side_force_N > least_N && bend.norm() > straight_per_mm && pressed.dot(inward) < 0;
    return tip;
}

double bend_that_keeps(const Beam& beam, double kept_per_mm, double radius_mm) {
    constexpr double largest_strain = 0.12;
    const auto kept = [&](double bend) {
        return bend * (1 - beam.curve().at(bend * radius_mm).secant);
    };
    double low = kept_per_mm, high = largest_strain / radius_mm;
    if (kept(high) < kept_per_mm) return std::numeric_limits<double>::infinity();
    for (int i = 0; i < 50; ++i) {
        const double middle = (low + high) / 2;
        (kept(middle) < kept_per_mm ? low : high) = middle;
    }
    return high;
}

std::optional<PreBend> pre_bend(const Beam& beam, const RodState& state) {
    const Device& device = beam.device();
    if (device.kind != DeviceKind::HandFile || !is_made_of(device, NamedMaterial::StainlessSteel))
        return {};
    const double limit = *facts_of(device.material).elastic_limit_strain;
    const std::size_t peak =
        std::max_element(state.strain.begin(), state.strain.end()) - state.strain.begin();
    if (state.strain[peak] <= limit) return {};
    const double radius = beam.radius_mm(state.from_tip_mm[peak]);
    const double bend = state.curvature_per_mm[peak].norm();
    const double needed = bend_that_keeps(beam, bend, radius);
    if (!std::isfinite(needed)) return {};
    PreBend result;
    result.bend_to_radius_mm = 1 / needed;
    result.springs_to_radius_mm = 1 / bend;
    result.set_radius_mm = 1 / (bend * (1 - beam.curve().at(state.strain[peak]).secant));
    // This bend alone: round all that lies between two of them the file would turn too far.
    std::size_t above = peak, below = peak;
    while (above > 0 && state.strain[above - 1] > limit) --above;
    while (below + 1 < state.strain.size() && state.strain[below + 1] > limit) ++below;
    result.from_tip_mm = state.from_tip_mm[below];
    result.to_tip_mm = state.from_tip_mm[above];
    return result;
}

Device thicker(const Device& device, double by_mm) {
    constexpr double least_mm = 0.01;
    Device other = device;
    other.tip_mm = std::max(other.tip_mm + by_mm, least_mm);
    if (other.shaft_mm) other.shaft_mm = std::max(*other.shaft_mm + by_mm, least_mm);
    for (auto& [x, diameter] : other.diameters_mm) diameter = std::max(diameter + by_mm, least_mm);
    return other;
}

std::optional<FitBand> fit_band(const Guide& guide, const Device& device, const Limits& limits,
                                const GeometryLimit& nominal) {
    if (!(device.tolerance_mm > 0)) return {};
    const auto reach_with = [&](double by_mm) {
        const Device other = thicker(device, by_mm);
        return geometry_limit(guide, Beam(other), limits.cut_allowance_mm, limits.stop_room_mm)
            .depth_mm;
    };
    FitBand band{reach_with(device.tolerance_mm), reach_with(-device.tolerance_mm), {}};
    const double foramen = 2 * guide.inradius_mm().back();
    if (device.kind == DeviceKind::Cone && nominal.reason == StoppedBy::Foramen &&
        device.taper > 0 && foramen > device.tip_mm) {
        band.trim_mm = (foramen - device.tip_mm) / device.taper;
    }
    return band;
}

TugBack tug_back(const Beam& beam, const RodState& state, std::optional<double> wedged_at_mm,
                 double friction, double seated_with_N) {
    TugBack tug{seated_with_N, 0, {}};
    double pull = state.push_N - 2 * state.push_without_friction_N;
    if (wedged_at_mm) {
        const double from_tip = std::max(state.depth_mm.back() - *wedged_at_mm, 0.0);
        const double slope = std::max(beam.radius_slope(from_tip), 0.0);
        const double left = std::max(seated_with_N - state.push_N, 0.0);
        if (slope + friction > 0) pull += left * (friction - slope) / (friction + slope);
    }
    tug.force_N = std::max(pull, 0.0);
    return tug;
}

BucklingLoad buckling_load(const Guide& guide, const Beam& beam, const RodState& state,
                           double handle_mm) {
    BucklingLoad load;
    load.outside_N = buckling_force_N(beam, state.from_tip_mm.front(), handle_mm);
    load.share_outside = std::isfinite(load.outside_N) ? state.push_N / load.outside_N : 0;
    if (!std::isfinite(load.outside_N)) load.outside_N = 0;
    load.share_inside = inner_buckling(guide, beam, state).ratio;
    return load;
}

}  // namespace anfract
