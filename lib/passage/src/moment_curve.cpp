#include "moment_curve.h"

namespace anfract {

MomentCurve::MomentCurve(const MomentLaw& law) {
    if (law.linear()) return;
    constexpr double least_slope = 1e-3;
    moment_.assign(pieces + 1, 0.0);
    energy_.assign(pieces + 1, 0.0);
    for (int i = 1; i <= pieces; ++i) {
        const double strain = i * step;
        moment_[i] = std::max(strain * law.secant(strain), moment_[i - 1] + least_slope * step);
        energy_[i] = energy_[i - 1] + step * (moment_[i - 1] + moment_[i]) / 2;
        slope_.push_back((moment_[i] - moment_[i - 1]) / step);
    }
}

}  // namespace anfract
