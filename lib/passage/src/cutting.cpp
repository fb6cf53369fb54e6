#include "cutting.h"

#include <cmath>
#include <numbers>

namespace anfract {

double cut_per_pressure_mm2_per_N(double friction, double speed_rpm, double feed_mm_per_s) {
    if (!(speed_rpm > 0 && feed_mm_per_s > 0)) return 0;
    const double turns = speed_rpm / 60 / feed_mm_per_s;
    const double middle = std::sqrt(least_cutting_N_per_mm2 * most_cutting_N_per_mm2);
    return std::numbers::pi * friction * turns / middle;
}

}  // namespace anfract
