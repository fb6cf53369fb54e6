#include "torsion.h"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <tuple>

namespace anfract {
namespace {

bool is(const Device& device, NamedMaterial material) {
    const auto* named = std::get_if<NamedMaterial>(&device.material);
    return named && *named == material;
}

}  // namespace

std::pair<double, double> fracture_torque_Nmm(const Device& device, double diameter_mm) {
    const bool steel = is(device, NamedMaterial::StainlessSteel);
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

Torsion torsion_of(const Beam& beam, const RodState& state,
                   const std::vector<std::pair<double, double>>& binds, double tip_depth_mm) {
    Torsion torsion;
    double bound_from_tip = -1;
    for (const auto& [from, to] : binds) {
        torsion.bound_mm += to - from;
        bound_from_tip = tip_depth_mm - to;  // ranges run down: the last is nearest to the tip
    }
    std::size_t hardest = 0;
    double energy = 0;
    const bool superelastic = is(beam.device(), NamedMaterial::NitiAustenitic);
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
    const double torque = state.torque_Nmm + torsion.hysteresis_mNm;
    torsion.share_low = torque / torsion.fracture_high_mNm;
    torsion.share_high = torque / torsion.fracture_low_mNm;
    return torsion;
}

}  // namespace anfract
