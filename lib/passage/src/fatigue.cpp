#include "fatigue.h"

#include <algorithm>
#include <cmath>

#include "anfract/passage/life.h"

namespace anfract {

CycleRange cycles_to_failure(double strain, const Device& device) {
    constexpr double exponent = -0.45;
    constexpr double spread = 3;
    constexpr double most = 1e7;
    static const double coefficient = 0.03 * std::pow(300.0, -exponent);
    const double plain = std::pow(std::max(strain, 1e-9) / coefficient, 1 / exponent);
    const auto* named = std::get_if<NamedMaterial>(&device.material);
    const bool treated = named && *named == NamedMaterial::NitiMartensitic;
    const double least_gain = treated ? 3 : 1, most_gain = treated ? 8 : 1;
    return {std::min(plain / spread * least_gain, most),
            std::min(plain * std::sqrt(least_gain * most_gain), most),
            std::min(plain * spread * most_gain, most)};
}

CycleRange damage_sum(const std::vector<Use>& uses) {
    CycleRange sum;
    for (const Use& use : uses) {
        sum.low += use.turns / use.cycles_to_failure.high;
        sum.median += use.turns / use.cycles_to_failure.median;
        sum.high += use.turns / use.cycles_to_failure.low;
    }
    return sum;
}

CycleRange life_factor_of_temperature(double temperature_degC) {
    constexpr double room_degC = 20, cooled_by_degC = 40;
    const double colder = (room_degC - temperature_degC) / cooled_by_degC;
    const double weak = std::pow(1 + 2.74, colder), strong = std::pow(1 + 8.54, colder);
    return {std::min(weak, strong), std::sqrt(weak * strong), std::max(weak, strong)};
}

}  // namespace anfract
