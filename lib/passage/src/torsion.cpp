#include "torsion.h"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <tuple>

#include "cutting.h"

namespace anfract {
std::pair<double, double> fracture_torque_Nmm(const Device& device, double diameter_mm) {
    const bool steel = is_made_of(device, NamedMaterial::StainlessSteel);
    const double low_MPa = steel ? 430 : 320, high_MPa = steel ? 1330 : 770;
    const double modulus_mm3 = std::numbers::pi * std::pow(diameter_mm, 3) / 16;
    return {low_MPa * modulus_mm3, high_MPa * modulus_mm3};
}

double loop_energy_N(double strain, double radius_mm) {
    constexpr double upper_MPa = 379, lower_MPa = 138;
    static const double begins = upper_MPa / facts_of(NamedMaterial::NitiAustenitic).modulus_MPa;
    if (strain <= begins) return 0;
    // Over the unit disc, integral of max(0, rho - c) dA in closed form.
    const double c = begins / strain;
    const double sum = 2 * std::numbers::pi * ((1 - c * c * c) / 3 - c * (1 - c * c) / 2);
    return 2 * (upper_MPa - lower_MPa) * strain * sum * radius_mm * radius_mm;
}

double cut_per_advance_mm2(const Beam& beam, const std::vector<std::pair<double, double>>& binds,
                           double tip_depth_mm) {
    constexpr double step_mm = 0.05;
    double sum = 0;
    for (const auto& [from, to] : binds) {
        const int pieces = std::max(1, static_cast<int>(std::ceil((to - from) / step_mm)));
        const double piece = (to - from) / pieces;
        for (int i = 0; i < pieces; ++i) {
            const double x = tip_depth_mm - from - (i + 0.5) * piece;
            sum += piece * 2 * std::numbers::pi * beam.radius_mm(x) *
                   std::max(beam.radius_slope(x), 0.0);
        }
    }
    return sum;
}

namespace {

/// Fills in cutting, screw-in and lock of a driven device that fills the canal somewhere.
void add_cutting(const Beam& beam, const std::vector<std::pair<double, double>>& binds,
                 double tip_depth_mm, double friction, Torsion& torsion) {
    constexpr double degree = std::numbers::pi / 180;
    const KindHabits habits = habits_of(beam.device().kind);
    if (!(habits.speed_rpm > 0) || !beam.device().cuts() || binds.empty()) return;
    const double per_turn_mm = habits.feed_mm_per_s * 60 / habits.speed_rpm;
    const double turned =
        cut_per_advance_mm2(beam, binds, tip_depth_mm) * per_turn_mm / (2 * std::numbers::pi);
    torsion.cutting_low_mNm = least_cutting_N_per_mm2 * turned;
    torsion.cutting_high_mNm = most_cutting_N_per_mm2 * turned;
    const double middle = tip_depth_mm - (binds.front().first + binds.back().second) / 2;
    const double radius = beam.radius_mm(middle);
    torsion.screw_in_low_N = torsion.cutting_low_mNm / radius * std::tan(15 * degree);
    torsion.screw_in_high_N = torsion.cutting_high_mNm / radius * std::tan(35 * degree);
    const double slope = std::max(beam.radius_slope(middle), 0.0);
    const double grip = slope + friction;
    if (slope > 0) torsion.lock_mNm = friction * habits.max_push_N * radius / grip;
}

}  // namespace

Torsion torsion_of(const Beam& beam, const RodState& state,
                   const std::vector<std::pair<double, double>>& binds, double tip_depth_mm,
                   double friction) {
    Torsion torsion;
    double bound_from_tip = -1;
    for (const auto& [from, to] : binds) {
        torsion.bound_mm += to - from;
        bound_from_tip = tip_depth_mm - to;  // ranges run down: the last is nearest to the tip
    }
    std::size_t hardest = 0;
    double energy = 0;
    const bool superelastic = is_made_of(beam.device(), NamedMaterial::NitiAustenitic);
    for (std::size_t i = 0; i < state.strain.size(); ++i) {
        if (state.contact_N[i].norm() > state.contact_N[hardest].norm()) hardest = i;
        if (superelastic) {
            energy += state.spacing_mm *
                      loop_energy_N(state.strain[i], beam.radius_mm(state.from_tip_mm[i]));
        }
    }
    torsion.hysteresis_mNm = energy / (2 * std::numbers::pi);
    const double weak = bound_from_tip >= 0 ? bound_from_tip : state.from_tip_mm[hardest];
    std::tie(torsion.fracture_low_mNm, torsion.fracture_high_mNm) =
        fracture_torque_Nmm(beam.device(), 2 * beam.radius_mm(std::max(weak, 0.0)));
    add_cutting(beam, binds, tip_depth_mm, friction, torsion);
    const double torque = state.torque_Nmm + torsion.hysteresis_mNm;
    torsion.share_low = (torque + torsion.cutting_low_mNm) / torsion.fracture_high_mNm;
    torsion.share_high =
        (torque + std::max(torsion.cutting_high_mNm, torsion.lock_mNm)) / torsion.fracture_low_mNm;
    return torsion;
}

}  // namespace anfract
