#include "unloading.h"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace anfract {
namespace {

/// The fibres of superelastic alloy: elastic line, plateau, elastic martensite, yield.
class Flag {
  public:
    Flag() : facts_(facts_of(NamedMaterial::NitiAustenitic)) {}

    double unloaded_MPa(double strain, double most) const {
        const auto& [begins, upper_MPa] = facts_.strain_stress_MPa[1];
        const auto& [ends, end_MPa] = facts_.strain_stress_MPa[2];
        if (most <= begins) return facts_.modulus_MPa * strain;
        const double yields = facts_.strain_stress_MPa[3].first;
        const double back = strain - std::max(most - yields, 0.0);
        const double rise_MPa = (end_MPa - upper_MPa) / (ends - begins);
        const double lower = lower_MPa + rise_MPa * (back - begins);
        const double elastic = loaded_MPa(most) - facts_.modulus_MPa * (most - strain);
        return std::max(elastic, std::min(facts_.modulus_MPa * back, lower));
    }
    double modulus_MPa() const { return facts_.modulus_MPa; }

  private:
    static constexpr double lower_MPa = 138;

    double loaded_MPa(double strain) const {
        const auto& table = facts_.strain_stress_MPa;
        std::size_t i = 1;
        while (i + 1 < table.size() && table[i].first < strain) ++i;
        const auto& [e0, s0] = table[i - 1];
        const auto& [e1, s1] = table[i];
        return s0 + (s1 - s0) * std::min((strain - e0) / (e1 - e0), 1.0);
    }

    MaterialFacts facts_;
};

}  // namespace

double unloading_moment(const Beam& beam, double strain, double most) {
    // Elastic all over: the moment falls by E I for each bend taken back.
    if (!is_made_of(beam.device(), NamedMaterial::NitiAustenitic))
        return beam.curve().at(most).secant - (1 - strain / most);
    constexpr int steps = 120;
    static const Flag flag;
    double sum = 0;
    for (int i = 0; i < steps; ++i) {
        const double angle = (i + 0.5) / steps * std::numbers::pi / 2;
        const double t = std::sin(angle), cosine = std::cos(angle);
        sum += flag.unloaded_MPa(strain * t, most * t) * t * cosine * cosine;
    }
    return 8 * sum / steps / (most * flag.modulus_MPa());
}

double kept_strain(const Beam& beam, double most) {
    constexpr int halvings = 40;
    constexpr double rounding = 1e-12;
    if (unloading_moment(beam, 0, most) >= -rounding) return 0;
    double low = 0, high = most;
    for (int i = 0; i < halvings; ++i) {
        const double middle = (low + high) / 2;
        (unloading_moment(beam, middle, most) < 0 ? low : high) = middle;
    }
    return high;
}

std::optional<Withdrawal> withdrawal_of(const Beam& beam, const RodState& state) {
    constexpr double least_kept_strain = 1e-4;
    const auto peak = std::max_element(state.strain.begin(), state.strain.end());
    if (beam.curve().linear() || !(*peak > 0)) return {};
    const double from_tip = state.from_tip_mm[peak - state.strain.begin()];
    const double radius = beam.radius_mm(from_tip);
    const double elastic = beam.stiffness_Nmm2(from_tip) * *peak / radius;
    Withdrawal back;
    back.from_tip_mm = from_tip;
    back.moment_mNm = elastic * beam.curve().at(*peak).secant;
    back.moment_at_half_mNm = elastic * unloading_moment(beam, *peak / 2, *peak);
    const double kept = kept_strain(beam, *peak);
    if (kept > least_kept_strain) back.set_radius_mm = radius / kept;
    return back;
}

}  // namespace anfract
