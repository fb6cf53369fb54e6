#include "fatigue.h"

#include <algorithm>
#include <cmath>

#include "anfract/passage/life.h"

namespace anfract {

CycleRange cycles_to_failure(double strain, const Device& device) {
    constexpr double exponent = 0.45, flattest = 0.40, steepest = 0.56;
    constexpr double spread = 3;
    constexpr double most = 1e7;
    static const double tied_turns = std::sqrt(tied_turns_low * tied_turns_high);
    const double ratio = tied_strain / std::max(strain, 1e-9);
    const auto turns = [&](double b) { return tied_turns * std::pow(ratio, 1 / b); };
    const double fewest = std::min(turns(flattest), turns(steepest));
    const double largest = std::max(turns(flattest), turns(steepest));
    const bool treated = is_made_of(device, NamedMaterial::NitiMartensitic);
    const double least_gain = treated ? 3 : 1, most_gain = treated ? 8 : 1;
    return {std::min(fewest / spread * least_gain, most),
            std::min(turns(exponent) * std::sqrt(least_gain * most_gain), most),
            std::min(largest * spread * most_gain, most)};
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
