#include "fatigue.h"

#include <algorithm>
#include <cmath>

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

}  // namespace anfract
