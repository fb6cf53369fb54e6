#include "moment_curve.h"

#include <algorithm>

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
    }
}

MomentCurve::Value MomentCurve::at(double strain) const {
    if (linear()) return {1, 1, strain * strain / 2};
    const int i = std::min(static_cast<int>(strain / step), pieces - 1);
    const double slope = (moment_[i + 1] - moment_[i]) / step;
    const double past = strain - i * step;
    const double moment = moment_[i] + slope * past;
    return {strain > 0 ? moment / strain : slope, slope,
            energy_[i] + past * (moment_[i] + moment) / 2};
}

}  // namespace anfract
